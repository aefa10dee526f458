using System.ComponentModel;
using System.Diagnostics;
using StreakTrack.Core;
using StreakTrack.Imaging.Clips;
using StreakTrack.Synthesis.Rendering;

namespace StreakTrack.Synthesis.Output;

/// <summary>Encodes H.264 through an installed ffmpeg program, which gets raw frames with their times through a pipe.</summary>
internal sealed class FfmpegSink : IFrameSink
{
    private const string Program = "ffmpeg";

    private readonly Process _process;
    private readonly RawMatroskaStream _stream;
    private readonly Task<string> _complaints;

    public FfmpegSink(ClipRenderer renderer, string path, int rateFactor)
    {
        if (Version() is not string version)
        {
            throw new UnusableInputException(
                "the ffmpeg program", "it is not installed, or cannot write H.264", "Install ffmpeg, or use the embedded encoder.");
        }

        Name = $"ffmpeg {version}, H.264";
        _process = Start(Arguments(renderer.Scenario.Camera.Transfer, path, rateFactor), redirectInput: true);
        _complaints = _process.StandardError.ReadToEndAsync();
        _stream = new RawMatroskaStream(
            _process.StandardInput.BaseStream, renderer.Scenario.Camera.WidthPx, renderer.Scenario.Camera.HeightPx);
    }

    public string Name { get; }

    /// <summary>Version of the installed program; null when there is none or it has no H.264 encoder.</summary>
    public static string? Version()
    {
        try
        {
            // "ffmpeg version 5.1.9-0+deb12u1 Copyright ..."
            string[] words = Output("-version").Split(' ', 4);
            return words.Length > 2 && Output("-encoders").Contains(" libx264 ", StringComparison.Ordinal) ? words[2] : null;
        }
        catch (Win32Exception)
        {
            return null;
        }
    }

    public void Write(byte[] bgr, double timeSeconds)
    {
        try
        {
            _stream.Write(bgr, timeSeconds);
        }
        catch (IOException e)
        {
            throw Failure(e);
        }
    }

    public void Finish()
    {
        try
        {
            _stream.Flush();
            _process.StandardInput.Close();
        }
        catch (IOException e)
        {
            throw Failure(e);
        }

        _process.WaitForExit();
        if (_process.ExitCode != 0)
            throw Failure(null);
    }

    public void Dispose()
    {
        if (!_process.HasExited)
            _process.Kill();
        _process.WaitForExit();
        _process.Dispose();
    }

    private static string[] Arguments(TransferFunction transfer, string path, int rateFactor)
    {
        string curve = transfer switch
        {
            TransferFunction.Srgb => "iec61966-2-1",
            TransferFunction.Linear => "linear",
            _ => "bt709",
        };
        string quality = rateFactor.ToString(System.Globalization.CultureInfo.InvariantCulture);
        return
        [
            "-hide_banner", "-nostats", "-loglevel", "error",
            "-f", "matroska", "-i", "pipe:0", "-map", "0:v:0",
            // Times pass through unchanged, in ticks of 1/90000 s.
            "-fps_mode", "passthrough", "-enc_time_base", "1:90000", "-video_track_timescale", "90000",
            // Colour samples over the left one of two columns, as phones have it; the filter's own default lies between the two.
            "-vf", "scale=out_color_matrix=bt709:out_range=tv:out_h_chr_pos=0:out_v_chr_pos=128:flags=accurate_rnd+full_chroma_int",
            "-pix_fmt", "yuv420p", "-chroma_sample_location", "left",
            "-c:v", "libx264", "-preset", "veryfast", "-crf", quality, "-g", "60",
            "-color_range", "tv", "-colorspace", "bt709", "-color_primaries", "bt709", "-color_trc", curve,
            "-map_metadata", "-1", "-f", "mp4", "-y", "file:" + path,
        ];
    }

    private static string Output(string argument)
    {
        using Process process = Start(["-hide_banner", argument], redirectInput: false);
        Task<string> errors = process.StandardError.ReadToEndAsync();
        string text = process.StandardOutput.ReadToEnd();
        errors.Wait();
        process.WaitForExit();
        return text;
    }

    private static Process Start(string[] arguments, bool redirectInput)
    {
        var start = new ProcessStartInfo(Program)
        {
            RedirectStandardInput = redirectInput,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            UseShellExecute = false,
        };
        foreach (string argument in arguments)
            start.ArgumentList.Add(argument);
        return Process.Start(start) ?? throw new IOException("ffmpeg could not be started.");
    }

    private IOException Failure(Exception? inner)
    {
        _process.WaitForExit(5000);
        return new IOException($"ffmpeg could not encode the clip: {_complaints.Result.Trim()}", inner);
    }
}
