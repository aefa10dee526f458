using System.Globalization;
using System.Security.Cryptography;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Formats;
using SixLabors.ImageSharp.Formats.Jpeg;
using SixLabors.ImageSharp.Formats.Png;
using SixLabors.ImageSharp.Memory;
using SixLabors.ImageSharp.Metadata.Profiles.Exif;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Core;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Photos;

/// <summary>Opens photographs: JPEG and PNG, told by their first bytes.</summary>
internal static class PhotoFile
{
    /// <summary>A picture of more pixels is not decoded: it would take more memory than such a measurement is worth.</summary>
    private const long MostPixels = 64_000_000;

    private const int LeastSidePx = 16;

    /// <summary>A larger file is not read, in bytes.</summary>
    private const long MostBytes = 128L << 20;

    /// <summary>Exposures beyond this are a broken tag, in s.</summary>
    private const double LongestExposure = 3600, ShortestExposure = 1e-6;

    /// <summary>How far the power law of a PNG file may depart from 1 for codes that are proportional to light.</summary>
    private const double LinearGamma = 0.05;

    private const string OriginalWanted = "Copy the photograph from the camera again.";

    // No other format is ever tried, and pictures are given back to the system and not kept for reuse.
    private static readonly Configuration Formats = new(new JpegConfigurationModule(), new PngConfigurationModule())
    {
        MemoryAllocator = MemoryAllocator.Create(new MemoryAllocatorOptions { MaximumPoolSizeMegabytes = 64 }),
    };

    /// <summary>The bytes of a photograph.</summary>
    /// <exception cref="UnusableInputException">There is no such ordinary file, or it cannot be read.</exception>
    public static byte[] BytesOf(string path)
    {
        string full = RegularFile.Require(path, "a photograph");
        try
        {
            long length = new FileInfo(full).Length;
            if (length > MostBytes)
            {
                throw new UnusableInputException(path, string.Create(CultureInfo.InvariantCulture,
                    $"the file has {length >> 20} MB, more than a photograph has"), "Save the photograph as JPEG or PNG.");
            }

            return File.ReadAllBytes(full);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new UnusableInputException(path, "the file cannot be read: " + e.Message.TrimEnd('.'), "Check the file and its permissions.", e);
        }
    }

    /// <summary>What a photograph says of itself; nothing is decoded.</summary>
    /// <param name="path">The file.</param>
    /// <param name="bytes">Its bytes.</param>
    /// <exception cref="UnusableInputException">It is no photograph, is damaged or too large.</exception>
    public static PhotoFacts Inspect(string path, byte[] bytes)
    {
        string format = PhotoStructure.FormatOf(bytes) ?? throw new UnusableInputException(path,
            IsHeif(bytes) ? "this is a HEIF picture" : "this is neither a JPEG nor a PNG picture",
            IsHeif(bytes) ? "Set the camera to its most compatible format (JPEG), or convert the picture." : "Save the photograph as JPEG or PNG.");
        if (!PhotoStructure.IsComplete(bytes, format))
            throw new UnusableInputException(path, "the file ends before its picture does", OriginalWanted);
        byte[] picture = format == "PNG" ? PhotoStructure.WithoutExtras(bytes) : bytes;
        IImageInfo info = Guarded(path, () => Image.Identify(Formats, new MemoryStream(picture, writable: false))) ?? throw Damaged(path, null);
        if (Math.Min(info.Width, info.Height) < LeastSidePx || (long)info.Width * info.Height > MostPixels)
        {
            throw new UnusableInputException(path, string.Create(CultureInfo.InvariantCulture,
                $"the picture has {info.Width} x {info.Height} px, and {LeastSidePx} px a side to {MostPixels / 1_000_000} million px can be measured"),
                "Take it at the camera's usual resolution.");
        }

        if (format == "PNG" && !PhotoStructure.HasWholePicture(bytes))
            throw Damaged(path, null);
        ExifProfile? exif = info.Metadata.ExifProfile;
        PngMetadata? png = format == "PNG" ? info.Metadata.GetPngMetadata() : null;
        int tag = exif?.GetValue(ExifTag.Orientation)?.Value is ushort orientation and >= 1 and <= 8 ? orientation : 1;
        return new PhotoFacts
        {
            Path = Path.GetFullPath(path),
            Bytes = bytes.Length,
            Sha256 = Convert.ToHexStringLower(SHA256.HashData(bytes)),
            Format = format,
            BitDepth = png?.BitDepth == PngBitDepth.Bit16 ? 16 : 8,
            OrientationTag = tag,
            Orientation = Turned(info.Width, info.Height, tag),
            ExposureSeconds = ExposureOf(exif),
            IsLinear = png is not null && png.Gamma > 0 && Math.Abs(png.Gamma - 1) < LinearGamma,
        };
    }

    /// <summary>Decodes a photograph.</summary>
    /// <param name="facts">The photograph.</param>
    /// <param name="bytes">Its bytes.</param>
    /// <exception cref="UnusableInputException">It is damaged.</exception>
    public static PhotoPixels Decode(PhotoFacts facts, byte[] bytes)
    {
        if (facts.Format == "PNG")
            bytes = PhotoStructure.WithoutExtras(bytes);
        IImageDecoder decoder = facts.Format == "PNG" ? new PngDecoder { IgnoreMetadata = true } : new JpegDecoder { IgnoreMetadata = true };
        return Guarded(facts.Path, () => facts.BitDepth == 16
            ? PhotoPixels.Of(Image.Load<Rgb48>(Formats, bytes, decoder), facts)
            : PhotoPixels.Of(Image.Load<Rgb24>(Formats, bytes, decoder), facts));
    }

    // A decoder may fail in any way on bytes that somebody made up; that is the file's fault.
    private static T Guarded<T>(string path, Func<T> work)
    {
        try
        {
            return work();
        }
        catch (Exception e) when (e is not (OperationCanceledException or UnusableInputException))
        {
            throw Damaged(path, e);
        }
    }

    private static UnusableInputException Damaged(string path, Exception? cause) =>
        new(path, "the picture is damaged and cannot be decoded", OriginalWanted, cause);

    private static bool IsHeif(ReadOnlySpan<byte> bytes) =>
        bytes.Length > 12 && bytes.Slice(4, 4).SequenceEqual("ftyp"u8)
        && (bytes.Slice(8, 3).SequenceEqual("hei"u8) || bytes.Slice(8, 3).SequenceEqual("hev"u8) || bytes.Slice(8, 3).SequenceEqual("mif"u8));

    /// <summary>How a stored picture is turned to stand upright (EXIF 2.3, table of tag 274: the side of the scene that row 0 and column 0 show).</summary>
    public static DisplayOrientation Turned(int width, int height, int tag)
    {
        (int xx, int xy, int yx, int yy) = tag switch
        {
            2 => (-1, 0, 0, 1),
            3 => (-1, 0, 0, -1),
            4 => (1, 0, 0, -1),
            5 => (0, 1, 1, 0),
            6 => (0, -1, 1, 0),
            7 => (0, -1, -1, 0),
            8 => (0, 1, -1, 0),
            _ => (1, 0, 0, 1),
        };
        return new DisplayOrientation(width, height, xx, xy, yx, yy);
    }

    private static double? ExposureOf(ExifProfile? exif)
    {
        if (exif is null)
            return null;
        double seconds = exif.GetValue(ExifTag.ExposureTime)?.Value is Rational time ? time.ToDouble()
            : exif.GetValue(ExifTag.ShutterSpeedValue)?.Value is SignedRational speed ? Math.Pow(2, -speed.ToDouble())
            : double.NaN;
        return seconds is >= ShortestExposure and <= LongestExposure ? seconds : null;
    }
}
