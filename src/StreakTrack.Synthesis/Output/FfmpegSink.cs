using System.Diagnostics;
using StreakTrack.Imaging.Clips;
using StreakTrack.Synthesis.Rendering;

namespace StreakTrack.Synthesis.Output;

/// <summary>Encodes H.264 through an installed ffmpeg program, which gets raw frames with their times through a pipe.</summary>
internal sealed class FfmpegSink : IFrameSink
{
    private static readonly Lazy<bool> WritesH264 = new(HasH264Encoder);

    private readonly Process _process;
    private readonly RawMatroskaStream _stream;
    private readonly Task<string> _complaints;

    public FfmpegSink(ClipRenderer renderer, string path, int rateFactor)
    {
        if (!IsUsable)
        {
            throw new MissingComponentException(
                "there is no ffmpeg program that can write H.264",
                "Install it (on Debian and Ubuntu: sudo apt-get install ffmpeg), or use the embedded encoder.");
        }

        ProcessStartInfo start = FfmpegProgram.StartInfo(Arguments(renderer.Scenario.Camera.Transfer, path, rateFactor));
        start.RedirectStandardInput = true;
        _process = Process.Start(start) ?? throw FfmpegProgram.Missing();
        _complaints = _process.StandardError.ReadToEndAsync();
        _stream = new RawMatroskaStream(
            _process.StandardInput.BaseStream, renderer.Scenario.Camera.WidthPx, renderer.Scenario.Camera.HeightPx);
    }

    /// <summary>Whether there is a program that can write H.264.</summary>
    public static bool IsUsable => WritesH264.Value;

    public string Name => $"ffmpeg {FfmpegProgram.Version}, H.264";

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
        FfmpegProgram.Kill(_process);
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

    private static bool HasH264Encoder()
    {
        if (FfmpegProgram.Version is null)
            return false;

        using Process? process = Process.Start(FfmpegProgram.StartInfo(["-nostdin", "-hide_banner", "-encoders"]));
        if (process is null)
            return false;
        process.ErrorDataReceived += (_, _) => { };
        process.BeginErrorReadLine();
        string text = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        return text.Contains(" libx264 ", StringComparison.Ordinal);
    }

    private IOException Failure(Exception? inner)
    {
        _process.WaitForExit(5000);
        return new IOException($"ffmpeg could not encode the clip: {_complaints.Result.Trim()}", inner);
    }
}
