using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Advanced;
using SixLabors.ImageSharp.Formats.Jpeg;
using SixLabors.ImageSharp.Formats.Png;
using SixLabors.ImageSharp.Metadata.Profiles.Exif;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Photos;
using StreakTrack.Synthesis.Rendering;

namespace StreakTrack.Synthesis.Output;

/// <summary>Stores frames of a scenario as still photographs: of a drive stepped slowly through resonance, one frame a step is a resonance curve
/// point by point.</summary>
public static class PhotoWriter
{
    /// <summary>Writes one frame; JPEG or PNG by the ending of the name.</summary>
    /// <param name="renderer">The frames. The scenario's camera codes as sRGB for a photograph that reads back as the light it is of.</param>
    /// <param name="frame">Number of the frame, from 0.</param>
    /// <param name="path">The file; replaced where it is there.</param>
    /// <param name="settings">How it is stored; null for the defaults.</param>
    /// <exception cref="ArgumentOutOfRangeException">There is no such frame.</exception>
    /// <exception cref="IOException">The file cannot be written.</exception>
    public static void Write(ClipRenderer renderer, int frame, string path, PhotoSettings? settings = null)
    {
        settings ??= new PhotoSettings();
        int width = renderer.Scenario.Camera.WidthPx, height = renderer.Scenario.Camera.HeightPx;
        Func<int, int, Rgba64> pixel = settings.SixteenBits ? Fine(renderer, frame, width) : Coarse(renderer, frame, width);

        // Columns and rows change places under the tags from 5 on.
        (int storedWidth, int storedHeight) = settings.OrientationTag >= 5 ? (height, width) : (width, height);
        DisplayOrientation turn = PhotoFile.Turned(storedWidth, storedHeight, settings.OrientationTag);
        using var image = new Image<Rgba64>(storedWidth, storedHeight);
        for (int y = 0; y < storedHeight; y++)
        {
            Span<Rgba64> row = image.DangerousGetPixelRowMemory(y).Span;
            for (int x = 0; x < storedWidth; x++)
            {
                PicturePoint upright = turn.ToDisplay(x, y);
                Rgba64 p = pixel((int)upright.UPx, (int)upright.VPx);
                row[x] = settings.IsGrey ? Grey(p, renderer.Scenario.Camera.Transfer) : p;
            }
        }

        var exif = new ExifProfile();
        exif.SetValue(ExifTag.Orientation, (ushort)settings.OrientationTag);
        if (settings.StatesExposure)
            exif.SetValue(ExifTag.ExposureTime, new Rational(renderer.Frames[frame].ExposureSeconds));
        image.Metadata.ExifProfile = exif;
        bool png = string.Equals(Path.GetExtension(path), ".png", StringComparison.OrdinalIgnoreCase);
        if (png)
        {
            image.SaveAsPng(path, new PngEncoder
            {
                BitDepth = settings.SixteenBits ? PngBitDepth.Bit16 : PngBitDepth.Bit8,
                ColorType = (settings.IsGrey, settings.HasAlpha) switch
                {
                    (true, true) => PngColorType.GrayscaleWithAlpha,
                    (true, false) => PngColorType.Grayscale,
                    (false, true) => PngColorType.RgbWithAlpha,
                    _ => PngColorType.Rgb,
                },
            });
        }
        else
        {
            image.SaveAsJpeg(path, new JpegEncoder
            {
                Quality = settings.JpegQuality,
                ColorType = settings.IsGrey ? JpegColorType.Luminance
                    : settings.JpegQuality > 90 ? JpegColorType.YCbCrRatio444 : JpegColorType.YCbCrRatio420,
            });
        }
    }

    // The camera's own codes.
    private static Func<int, int, Rgba64> Coarse(ClipRenderer renderer, int frame, int width)
    {
        byte[] bgr = new byte[renderer.FrameBytes];
        renderer.Render(frame, bgr);
        return (u, v) =>
        {
            int at = 3 * ((v * width) + u);
            return new Rgba64((ushort)(257 * bgr[at + 2]), (ushort)(257 * bgr[at + 1]), (ushort)(257 * bgr[at]), ushort.MaxValue);
        };
    }

    private static Func<int, int, Rgba64> Fine(ClipRenderer renderer, int frame, int width)
    {
        LinearPicture light = renderer.RenderLight(frame);
        TransferFunction transfer = renderer.Scenario.Camera.Transfer;
        return (u, v) =>
        {
            int at = (v * width) + u;
            return new Rgba64(Code(light.Red[at]), Code(light.Green[at]), Code(light.Blue[at]), ushort.MaxValue);
        };

        ushort Code(float value) => (ushort)Math.Round(ushort.MaxValue * SensorNoise.Code(transfer, Math.Clamp(value, 0, 1)));
    }

    // A sensor that all colours reach alike: light is added, and only then coded.
    private static Rgba64 Grey(Rgba64 p, TransferFunction transfer)
    {
        double light = (Light(p.R) + Light(p.G) + Light(p.B)) / 3;
        var grey = (ushort)Math.Round(ushort.MaxValue * SensorNoise.Code(transfer, light));
        return new Rgba64(grey, grey, grey, p.A);

        double Light(ushort code) => Math.Clamp(TransferCurve.ToLight(transfer, code / (double)ushort.MaxValue), 0, 1);
    }
}
