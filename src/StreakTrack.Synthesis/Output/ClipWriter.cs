using StreakTrack.Synthesis.Rendering;

namespace StreakTrack.Synthesis.Output;

/// <summary>Renders and encodes a clip.</summary>
public static class ClipWriter
{
    /// <summary>Writes the frames of a scenario to a file, beside its final name first and renamed when complete.</summary>
    /// <param name="renderer">The frames.</param>
    /// <param name="folder">An existing folder.</param>
    /// <param name="name">Name of the file without its extension, which follows from the encoder.</param>
    /// <param name="options">How it is encoded.</param>
    /// <param name="progress">Told the share done, 0 to 1.</param>
    /// <param name="cancellation">Ends the work; nothing is left behind.</param>
    /// <returns>The file, and the name of the encoder.</returns>
    /// <exception cref="Imaging.Clips.MissingComponentException">The encoder is missing, or the one that is there cannot write what the
    /// scenario asks for.</exception>
    /// <exception cref="IOException">The encoder failed.</exception>
    public static (string Path, string Encoder) Write(
        ClipRenderer renderer, string folder, string name, ClipWriterOptions options, IProgress<double>? progress = null,
        CancellationToken cancellation = default)
    {
        bool ffmpeg = options.Encoder == ClipEncoder.Ffmpeg || (options.Encoder == ClipEncoder.Auto && FfmpegSink.IsUsable);
        string extension = ffmpeg ? ".mp4" : ".mov";
        string path = Path.Combine(Path.GetFullPath(folder), name + extension);
        string partial = Path.Combine(Path.GetFullPath(folder), name + ".partial" + extension);
        try
        {
            string encoder;
            using (IFrameSink sink = ffmpeg ? new FfmpegSink(renderer, partial, options.RateFactor) : new EmbeddedSink(renderer, partial))
            {
                WriteFrames(renderer, sink, options.Threads, progress, cancellation);
                sink.Finish();
                encoder = sink.Name;
            }

            if (renderer.Scenario.Camera.RotationTagDegrees != 0)
                RotationTag.Write(partial, renderer.Orientation);

            File.Move(partial, path, overwrite: true);
            return (path, encoder);
        }
        finally
        {
            File.Delete(partial);
        }
    }

    private static void WriteFrames(
        ClipRenderer renderer, IFrameSink sink, int threads, IProgress<double>? progress, CancellationToken cancellation)
    {
        int frames = renderer.Frames.Count;
        var buffers = new byte[threads][];
        for (int i = 0; i < threads; i++)
            buffers[i] = new byte[renderer.FrameBytes];

        var limit = new ParallelOptions { MaxDegreeOfParallelism = threads, CancellationToken = cancellation };
        for (int first = 0; first < frames; first += threads)
        {
            int count = Math.Min(threads, frames - first), start = first;
            Parallel.For(0, count, limit, i => renderer.Render(start + i, buffers[i]));
            for (int i = 0; i < count; i++)
                sink.Write(buffers[i], renderer.Frames[first + i].TimeSeconds);
            progress?.Report((double)(first + count) / frames);
        }
    }
}
