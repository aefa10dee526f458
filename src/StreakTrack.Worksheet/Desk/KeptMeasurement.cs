using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Worksheet.Desk;

/// <summary>The measurement of a clip in its work folder, so that a reopened notebook needs no decoding.</summary>
/// <remarks>The file belongs to one clip and to one build of the program, since another build may measure otherwise, and ends with a hash of itself:
/// what is damaged or of another build is not used, and the clip is measured again. Nothing is lost when it is deleted.</remarks>
internal sealed class KeptMeasurement
{
    private const string FileName = "measurement.bin";
    private const int BufferBytes = 1 << 20;

    private static readonly string Build =
        $"{typeof(StreakStudy).Module.ModuleVersionId:N}-{typeof(AnalysisRecord).Module.ModuleVersionId:N}";

    private readonly string _path;

    private KeptMeasurement(string path, IReadOnlyList<MarkRecord> alongMarks) => (_path, AlongMarks) = (path, alongMarks);

    /// <summary>The marks along which the band was laid.</summary>
    public IReadOnlyList<MarkRecord> AlongMarks { get; }

    /// <summary>Finds the measurement of a clip; null where there is none that this build can use.</summary>
    /// <param name="folder">The work folder.</param>
    /// <param name="sha256">SHA-256 of the clip.</param>
    public static KeptMeasurement? Find(string folder, string sha256)
    {
        string path = Path.Combine(folder, FileName);
        try
        {
            using FileStream file = File.OpenRead(path);
            using var reader = new BinaryReader(file, Encoding.UTF8);
            return reader.ReadString() == Build && reader.ReadString() == sha256
                && JsonSerializer.Deserialize<MarkRecord[]>(reader.ReadString()) is { Length: >= 2 } marks
                    ? new KeptMeasurement(path, marks)
                    : null;
        }
        catch (Exception e) when (IsUnusable(e))
        {
            return null;
        }
    }

    /// <summary>Reads the measurement; null where the file is damaged.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="scale">The scale of <see cref="AlongMarks"/>.</param>
    /// <param name="tickScale">The better scale that the ruler's picture gives.</param>
    /// <param name="later">Settings whose threshold and frequency are wanted.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    public StreakStudy? Read(
        ClipFacts facts, RulerScale scale, Func<RulerPicture, RulerScale> tickScale, StreakOptions later, CancellationToken cancellationToken)
    {
        try
        {
            using var file = new FileStream(_path, FileMode.Open, FileAccess.Read, FileShare.Read, BufferBytes);
            if (!IsWhole(file, cancellationToken))
                return null;
            file.Position = 0;
            using var reader = new BinaryReader(file, Encoding.UTF8);
            for (int header = 0; header < 3; header++)
                reader.ReadString();
            return StreakStudy.Load(file, facts, scale, later, tickScale, cancellationToken);
        }
        catch (Exception e) when (IsUnusable(e))
        {
            return null;
        }
    }

    /// <summary>Keeps a measurement in place of the one before, whole or not at all.</summary>
    /// <param name="folder">The work folder.</param>
    /// <param name="sha256">SHA-256 of the clip.</param>
    /// <param name="measured">The measurement.</param>
    /// <param name="cancellationToken">Stops the writing.</param>
    /// <exception cref="IOException">It cannot be written.</exception>
    /// <exception cref="UnauthorizedAccessException">It may not be written.</exception>
    public static void Write(string folder, string sha256, MeasuredStreak measured, CancellationToken cancellationToken)
    {
        string path = Path.Combine(folder, FileName), unfinished = path + ".unfinished";
        try
        {
            using (var file = new FileStream(unfinished, FileMode.Create, FileAccess.Write, FileShare.None, bufferSize: 0))
            {
                using (var hash = SHA256.Create())
                using (var hashing = new CryptoStream(file, hash, CryptoStreamMode.Write, leaveOpen: true))
                {
                    using (var buffered = new BufferedStream(hashing, BufferBytes))
                    using (var writer = new BinaryWriter(buffered, Encoding.UTF8))
                    {
                        writer.Write(Build);
                        writer.Write(sha256);
                        writer.Write(JsonSerializer.Serialize(measured.AlongMarks));
                        measured.Pass.Save(buffered, cancellationToken);
                    }

                    file.Write(hash.Hash!);
                }

                file.Flush(flushToDisk: true);
            }

            File.Move(unfinished, path, overwrite: true);
        }
        finally
        {
            File.Delete(unfinished);
        }
    }

    private static bool IsWhole(FileStream file, CancellationToken cancellationToken)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        byte[] buffer = new byte[BufferBytes], stored = new byte[SHA256.HashSizeInBytes];
        for (long left = file.Length - stored.Length; left > 0;)
        {
            cancellationToken.ThrowIfCancellationRequested();
            int read = file.Read(buffer, 0, (int)Math.Min(left, buffer.Length));
            if (read == 0)
                return false;
            hash.AppendData(buffer, 0, read);
            left -= read;
        }

        return file.ReadAtLeast(stored, stored.Length, throwOnEndOfStream: false) == stored.Length && hash.GetHashAndReset().AsSpan().SequenceEqual(stored);
    }

    private static bool IsUnusable(Exception e) => e is IOException or InvalidDataException or UnauthorizedAccessException or JsonException
        or FormatException or ArgumentException or SixLabors.ImageSharp.ImageFormatException;
}
