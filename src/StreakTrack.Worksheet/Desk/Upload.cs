using System.Buffers;
using StreakTrack.Core;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Worksheet.Desk;

/// <summary>Takes a clip that was dropped on the page into the work folder.</summary>
internal static class Upload
{
    private const int BufferBytes = 1 << 18;

    /// <summary>Stores a clip. The name given never becomes part of a path; the ending follows from what the file is.</summary>
    /// <param name="body">The bytes.</param>
    /// <param name="name">What the user calls it.</param>
    /// <param name="options">How the worksheet is served.</param>
    /// <param name="cancellationToken">The page has gone.</param>
    /// <returns>Path of the clip, and its hash.</returns>
    /// <exception cref="UnusableInputException">It is no clip. Nothing of it stays.</exception>
    /// <exception cref="UploadTooLargeException">It is too large. Nothing of it stays.</exception>
    public static async Task<(string Path, string Sha256)> StoreAsync(
        Stream body, string name, WorksheetOptions options, CancellationToken cancellationToken)
    {
        string root = options.WorkFolder;
        Directory.CreateDirectory(root);
        string unfinished = Path.Combine(root, "upload-" + Path.GetRandomFileName() + ".unfinished");
        try
        {
            await using (var file = new FileStream(unfinished, FileMode.CreateNew, FileAccess.Write, FileShare.None))
                await CopyAsync(body, file, name, options.MaxUploadBytes, cancellationToken);

            ClipFacts facts;
            try
            {
                facts = ClipFile.Inspect(unfinished, cancellationToken);
            }
            catch (UnusableInputException e)
            {
                throw new UnusableInputException(name, e.Problem, e.NextStep, e);
            }

            if (options.Trial is { } trial && !ClipFile.UsesFfmpeg(Enum.Parse<ReaderChoice>(options.Reader, ignoreCase: true))
                && await trial(unfinished, cancellationToken) is string problem)
            {
                throw new UnusableInputException(name, problem, "Install ffmpeg, or hand in the camera's original file.");
            }

            string sha256 = ClipAnalyzer.Sha256Of(unfinished, cancellationToken);
            string path = Path.Combine(WorkFolder.For(root, name, sha256).FullPath, "clip" + EndingOf(facts.Container));
            File.Move(unfinished, path, overwrite: true);
            return (path, sha256);
        }
        finally
        {
            File.Delete(unfinished);
        }
    }

    private static async Task CopyAsync(Stream body, FileStream file, string name, long maxBytes, CancellationToken cancellationToken)
    {
        byte[] buffer = ArrayPool<byte>.Shared.Rent(BufferBytes);
        try
        {
            long total = 0;
            int read;
            while ((read = await body.ReadAsync(buffer, cancellationToken)) > 0)
            {
                total += read;
                if (total > maxBytes)
                    throw new UploadTooLargeException(name, maxBytes);
                await file.WriteAsync(buffer.AsMemory(0, read), cancellationToken);
            }
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(buffer);
        }
    }

    private static string EndingOf(string container) => container.ToUpperInvariant() switch
    {
        var c when c.Contains("QUICKTIME", StringComparison.Ordinal) => ".mov",
        var c when c.Contains("MATROSKA", StringComparison.Ordinal) => ".mkv",
        var c when c.Contains("AVI", StringComparison.Ordinal) => ".avi",
        _ => ".mp4",
    };
}
