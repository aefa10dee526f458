using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using StreakTrack.Core;

namespace StreakTrack.Imaging.Clips;

/// <summary>Opens clips.</summary>
public static class ClipFile
{
    /// <summary>Looks at a clip without decoding it.</summary>
    public static ClipFacts Inspect(string path, CancellationToken cancellationToken = default)
    {
        string full = Path.GetFullPath(path);
        var info = new ProcessStartInfo("ffprobe",
            [.. FfmpegProgram.InputGuards, "-v", "error", "-select_streams", "v:0", "-show_streams", "-show_format", "-of", "json", "file:" + full])
        { RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false };
        using Process process = Process.Start(info)!;
        process.ErrorDataReceived += (_, _) => { };
        process.BeginErrorReadLine();
        string json = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        using JsonDocument document = JsonDocument.Parse(json.Length == 0 ? "{}" : json);
        if (!document.RootElement.TryGetProperty("streams", out JsonElement streams) || streams.GetArrayLength() == 0)
            throw new UnusableInputException(path, "there is no video in it", "Hand in the camera's original file.");
        JsonElement video = streams[0];
        int width = video.GetProperty("width").GetInt32(), height = video.GetProperty("height").GetInt32();
        int rotation = 0;
        if (video.TryGetProperty("side_data_list", out JsonElement sides))
        {
            foreach (JsonElement side in sides.EnumerateArray())
            {
                if (side.TryGetProperty("rotation", out JsonElement r))
                    rotation = (((int)r.GetDouble() % 360) + 360) % 360;
            }
        }

        DisplayOrientation orientation = rotation switch
        {
            90 => new(width, height, 0, 1, -1, 0),
            180 => new(width, height, -1, 0, 0, -1),
            270 => new(width, height, 0, -1, 1, 0),
            _ => DisplayOrientation.Upright(width, height),
        };
        string pix = video.GetProperty("pix_fmt").GetString()!;
        string Tag(string name) => video.TryGetProperty(name, out JsonElement e) ? e.GetString() ?? "" : "";
        var colour = new ColourDescription(
            Tag("color_space") switch { "bt2020nc" => ColourMatrix.Bt2020, "smpte170m" or "bt470bg" => ColourMatrix.Bt601, _ => ColourMatrix.Bt709 },
            Tag("color_range") == "pc",
            Tag("color_transfer") switch { "arib-std-b67" => TransferFunction.Hlg, "smpte2084" => TransferFunction.Pq, _ => TransferFunction.Bt709 },
            true, Tag("color_space").Length == 0);
        return new ClipFacts
        {
            Path = full,
            Bytes = new FileInfo(full).Length,
            Container = document.RootElement.GetProperty("format").GetProperty("format_name").GetString()!,
            Codec = Tag("codec_name"),
            PixelFormat = pix,
            BitDepth = pix.Contains("10", StringComparison.Ordinal) ? 10 : 8,
            Orientation = orientation,
            Colour = colour,
            AnnouncedFrames = int.TryParse(Tag("nb_frames"), CultureInfo.InvariantCulture, out int n) ? n : null,
            StartSeconds = double.TryParse(Tag("start_time"), CultureInfo.InvariantCulture, out double start) ? start : 0,
            DurationSeconds = double.TryParse(
                document.RootElement.GetProperty("format").TryGetProperty("duration", out JsonElement d) ? d.GetString() : "",
                CultureInfo.InvariantCulture, out double duration) ? duration : null,
        };
    }

    /// <summary>Opens a reader.</summary>
    public static IFrameReader OpenReader(ClipFacts facts, FrameReaderOptions options) => new FfmpegFrameReader(facts, options);

    /// <summary>Takes up to <paramref name="count"/> frames from all over a clip, as cheaply as the decoder allows.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="count">Frames wanted, at least 1. Fewer come when the clip has fewer, or when its key frames alone give at least half of them.</param>
    /// <param name="region">The region of the coded picture wanted; null for all of it. May be widened as in <see cref="FrameReaderOptions"/>.</param>
    /// <param name="reader">Which reader to use.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    /// <returns>Frames in order of time, each with buffers of its own. <see cref="RawFrame.TimeSeconds"/> is the frame's own time;
    /// <see cref="RawFrame.Index"/> counts within this list, because the place among the frames skipped is not known.</returns>
    /// <exception cref="UnusableInputException">The clip cannot be decoded.</exception>
    /// <exception cref="MissingComponentException">The reader is not there.</exception>
    public static IReadOnlyList<RawFrame> SampleFrames(
        ClipFacts facts, int count, PixelRegion? region, ReaderChoice reader, CancellationToken cancellationToken)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(count, 1);
        return FrameSampler.WithFfmpeg(facts, count, region, cancellationToken);
    }
}
