using System.Runtime.InteropServices;
using OpenCvSharp;

namespace StreakTrack.Imaging.Clips;

/// <summary>Gets the decoder inside the OpenCV package ready, once.</summary>
internal static partial class EmbeddedDecoder
{
    private const string LibraryName = "OpenCvSharpExtern";

    private static readonly Lazy<string> LazyVersion = new(Prepare);

    /// <summary>Its version; asking for it makes sure that the decoder can be used.</summary>
    /// <exception cref="MissingComponentException">A library of the system's is missing.</exception>
    public static string Version => LazyVersion.Value;

    private static string Prepare()
    {
        // OpenCV reads these when the first clip is opened. The runtime's own environment does not reach the C library's.
        SetVariable("OPENCV_FFMPEG_CAPTURE_OPTIONS",
            "format_whitelist;mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,avi|protocol_whitelist;file");

        // Any other value than -8 (quiet) would send the decoder's complaints to standard output.
        SetVariable("OPENCV_FFMPEG_LOGLEVEL", "-8");
        try
        {
            string version = Cv2.GetVersionString() ?? "";
            Cv2.SetLogLevel(OpenCvSharp.LogLevel.SILENT);
            return version;
        }
        catch (Exception e) when (e is TypeInitializationException or DllNotFoundException)
        {
            throw Missing(e);
        }
    }

    /// <summary>Names what is missing: the loader's message lists every place where it looked, and the cause among them.</summary>
    internal static MissingComponentException Missing(Exception cause)
    {
        string text = (cause as DllNotFoundException ?? cause.InnerException as DllNotFoundException)?.Message ?? cause.Message;
        string[] libraries =
        [
            .. text.Split('\n').Where(line => line.Contains("cannot open shared object file", StringComparison.Ordinal)
                    && !line.Contains(LibraryName, StringComparison.Ordinal))
                .Select(line => line.Split(':')[0].Trim()).Distinct(),
        ];
        return new MissingComponentException(
            libraries.Length > 0
                ? $"The embedded decoder needs {string.Join(", ", libraries)}, which this system does not have"
                : "The embedded decoder's native library cannot be loaded",
            "Run ./setup.sh, or on Debian and Ubuntu: sudo apt-get install --no-install-recommends libgtk-3-0 libdrm2 libatomic1; "
            + "or install ffmpeg, which is then used instead.",
            cause);
    }

    private static void SetVariable(string name, string value)
    {
        if (OperatingSystem.IsWindows())
            _ = PutVariableWindows(name, value);
        else
            _ = SetVariableUnix(name, value, 1);
    }

    [LibraryImport("libc", EntryPoint = "setenv", StringMarshalling = StringMarshalling.Utf8)]
    private static partial int SetVariableUnix(string name, string value, int overwrite);

    [LibraryImport("ucrtbase", EntryPoint = "_putenv_s", StringMarshalling = StringMarshalling.Utf8)]
    private static partial int PutVariableWindows(string name, string value);
}
