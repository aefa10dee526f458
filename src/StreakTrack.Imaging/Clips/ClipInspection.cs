using System.Globalization;
using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Imaging.Clips.Containers;

namespace StreakTrack.Imaging.Clips;

/// <summary>Looks at a clip's container with readers of our own, before any decoder sees the file.</summary>
internal static class ClipInspection
{
    private const int MagicBytes = 12;
    private const int MaxSidePx = 16384;

    // Rates this close are the same rate, told with rounding or lost frames.
    private const double SameRateTolerance = 0.02;

    private const string OriginalWanted = "Hand in the camera's original file.";

    /// <summary>Reads the facts of a clip.</summary>
    public static ClipFacts Inspect(string path, CancellationToken cancellationToken)
    {
        string full = RegularFile.Require(path, "a clip");
        return Read(full, path, Facts, cancellationToken);

        ClipFacts Facts(ByteSource source, ContainerFacts facts)
        {
            StreamFormat format = facts.Format;
            if (format.Width is < 1 or > MaxSidePx || format.Height is < 1 or > MaxSidePx)
            {
                throw new UnusableInputException(path,
                    string.Create(CultureInfo.InvariantCulture, $"its picture size of {format.Width} x {format.Height} cannot be right"), OriginalWanted);
            }

            ColourDescription colour = format.Tags.Describe(Math.Min(format.Width, format.Height));
            (int xx, int xy, int yx, int yy) = facts.Turn;
            return new ClipFacts
            {
                Path = full,
                Bytes = source.Length,
                Container = facts.Container,
                Codec = facts.Codec,
                PixelFormat = PixelFormatName(format, colour.FullRange),
                BitDepth = format.BitDepth,
                Orientation = new DisplayOrientation(format.Width, format.Height, xx, xy, yx, yy),
                Colour = colour,
                AnnouncedFrames = facts.Frames,
                StartSeconds = facts.StartSeconds,
                DurationSeconds = facts.DurationSeconds,
                Findings = Remarks(facts, colour),
            };
        }
    }

    /// <summary>Reads the times of a clip's frames from the container's index; none where it has no such index.</summary>
    public static double[] AnnouncedTimes(string path, CancellationToken cancellationToken) =>
        Read(RegularFile.Require(path, "a clip"), path, (_, facts) => facts.FrameTimes?.Invoke() ?? [], cancellationToken);

    private static T Read<T>(string full, string path, Func<ByteSource, ContainerFacts, T> take, CancellationToken cancellationToken)
    {
        try
        {
            using var source = new ByteSource(full, cancellationToken);
            return take(source, ReadContainer(source, path) ?? throw new UnusableInputException(path, "there is no video in it", OriginalWanted));
        }
        catch (EndOfStreamException e)
        {
            throw new UnusableInputException(path, "the file ends in the middle of its own description", "Copy the file from the camera again.", e);
        }
        catch (InvalidDataException e)
        {
            throw new UnusableInputException(path, e.Message, "Copy the file from the camera again.", e);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new UnusableInputException(path, "the file cannot be read: " + e.Message.TrimEnd('.'), "Check the file and its permissions.", e);
        }
    }

    private static ContainerFacts? ReadContainer(ByteSource source, string path)
    {
        byte[] magic = source.Bytes(0, source.Length, MagicBytes);
        if (magic.Length == MagicBytes)
        {
            if (magic.AsSpan(4, 4) is var name
                && (name.SequenceEqual("ftyp"u8) || name.SequenceEqual("moov"u8) || name.SequenceEqual("mdat"u8) || name.SequenceEqual("wide"u8)
                    || name.SequenceEqual("free"u8) || name.SequenceEqual("skip"u8) || name.SequenceEqual("pnot"u8)))
            {
                return IsoMediaFile.Read(source);
            }

            ReadOnlySpan<byte> ebml = [0x1A, 0x45, 0xDF, 0xA3];
            if (magic.AsSpan(0, 4).SequenceEqual(ebml))
                return MatroskaFile.Read(source);
            if (magic.AsSpan(0, 4).SequenceEqual("RIFF"u8) && magic.AsSpan(8, 4).SequenceEqual("AVI "u8))
                return AviFile.Read(source);
        }

        throw new UnusableInputException(path, "its first bytes are not those of an MP4, MOV, MKV, WebM or AVI file",
            "Hand in the camera's original file; playlists, pictures and texts are not opened, whatever their name.");
    }

    private static string PixelFormatName(StreamFormat format, bool fullRange)
    {
        if (format.ChromaFormat == 0)
            return format.BitDepth == 8 ? "gray" : $"gray{format.BitDepth}le";
        string layout = format.ChromaFormat switch { 2 => "422p", 3 => "444p", _ => "420p" };
        return format.BitDepth == 8 ? (fullRange ? "yuvj" : "yuv") + layout : $"yuv{layout}{format.BitDepth}le";
    }

    private static List<Finding> Remarks(ContainerFacts facts, ColourDescription colour)
    {
        var findings = new List<Finding>();
        if (facts.Pieces > 1 || facts.SpeedChanged)
        {
            findings.Add(FindingKinds.EditedClip.With(facts.SpeedChanged
                ? "The file's edit list plays a part of the recording at another speed, which the frame times do not show."
                : $"The file's edit list joins {facts.Pieces} pieces, so recorded time may be missing between frames."));
        }

        if (facts.CaptureRate is { } taken && facts.FrameRate is { } played && !(Math.Abs((taken / played) - 1) <= SameRateTolerance))
        {
            findings.Add(FindingKinds.SlowMotion.With(string.Create(CultureInfo.InvariantCulture,
                $"The file says that {taken:0.##} frames a second were taken, but it plays {played:0.##} a second: one of its seconds is {played / taken:0.####} s.")));
        }

        if (colour.Assumed)
        {
            findings.Add(FindingKinds.ColourAssumed.With(
                $"The file does not say how its brightness is coded; matrix {colour.Matrix} and transfer function {colour.Transfer} were assumed."));
        }

        return findings;
    }
}
