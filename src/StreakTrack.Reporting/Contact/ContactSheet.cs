using System.Globalization;
using System.Numerics;
using System.Xml.Linq;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Formats.Jpeg;
using SixLabors.ImageSharp.PixelFormats;
using SixLabors.ImageSharp.Processing;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;

namespace StreakTrack.Reporting.Contact;

/// <summary>Draws frames with the found ends in them.</summary>
/// <remarks>
/// The pictures stay pictures and the marks are drawn over them as SVG: marks stay sharp at any size, and captions are text that can be
/// searched and copied.
/// </remarks>
internal static class ContactSheet
{
    /// <summary>Wider pictures are made smaller; the page shows them smaller still.</summary>
    private const int MaxWidthPx = 1000;

    private const int JpegQuality = 88;

    private static readonly XNamespace Svg = "http://www.w3.org/2000/svg";

    /// <summary>One frame: the picture with its marks.</summary>
    /// <param name="contact">The frame.</param>
    /// <param name="description">What is shown, for readers who cannot see it.</param>
    public static XElement Draw(ContactPicture contact, string description)
    {
        using Image<Rgb24> picture = Prepare(contact, out Matrix3x2 toPicture);
        string width = Number(picture.Width);
        string height = Number(picture.Height);
        XElement drawing = new(Svg + "svg",
            new XAttribute("xmlns", Svg.NamespaceName),
            new XAttribute("viewBox", $"0 0 {width} {height}"),
            new XAttribute("role", "img"),
            new XAttribute("aria-label", description),
            new XElement(Svg + "image", new XAttribute("width", width), new XAttribute("height", height),
                new XAttribute("href", DataUri(picture))));

        StreakReading reading = contact.Reading;
        float unit = picture.Width / 400f;
        Vector2 along = Along(reading, toPicture);
        foreach (PicturePoint? end in new[] { reading.ThresholdFirstEnd, reading.ThresholdSecondEnd })
        {
            if (end is PicturePoint p)
                drawing.Add(ThresholdMark(Place(p, toPicture), unit));
        }

        foreach (PicturePoint? end in new[] { reading.FirstEnd, reading.SecondEnd })
        {
            if (end is PicturePoint p)
                drawing.Add(ProfileMark(Place(p, toPicture), along, unit, picture.Height));
        }

        return drawing;
    }

    /// <summary>The picture with the streak lying flat, no wider than needed, and the map that belongs to it.</summary>
    private static Image<Rgb24> Prepare(ContactPicture contact, out Matrix3x2 toPicture)
    {
        Image<Rgb24> picture = contact.Picture.Clone();
        toPicture = contact.DisplayToPicture;
        if (picture.Height > picture.Width)
        {
            // A quarter turn to the left: (x, y) goes to (y, width - 1 - x).
            toPicture *= new Matrix3x2(0, -1, 1, 0, 0, picture.Width - 1);
            picture.Mutate(p => p.Rotate(RotateMode.Rotate270));
        }

        if (picture.Width > MaxWidthPx)
        {
            int height = Math.Max(1, (int)Math.Round(picture.Height * (double)MaxWidthPx / picture.Width));
            var scale = new Vector2(MaxWidthPx / (float)picture.Width, height / (float)picture.Height);

            // Pixel centres are whole numbers, so the corner that scaling keeps in place lies at -1/2.
            toPicture *= Matrix3x2.CreateScale(scale) * Matrix3x2.CreateTranslation((scale - Vector2.One) / 2);
            picture.Mutate(p => p.Resize(MaxWidthPx, height, KnownResamplers.Bicubic));
        }

        return picture;
    }

    private static string DataUri(Image<Rgb24> picture)
    {
        using MemoryStream stream = new();
        // Full colour resolution: a laser's streak is nearly all colour.
        picture.Save(stream, new JpegEncoder { Quality = JpegQuality, ColorType = JpegColorType.YCbCrRatio444 });
        return "data:image/jpeg;base64," + Convert.ToBase64String(stream.ToArray());
    }

    /// <summary>Where a point lies in the drawing, whose pixel centres are at halves.</summary>
    private static Vector2 Place(PicturePoint point, Matrix3x2 toPicture) =>
        Vector2.Transform(new Vector2((float)point.UPx, (float)point.VPx), toPicture) + new Vector2(0.5f);

    /// <summary>The direction of the streak in the drawing; to the right where it is not known.</summary>
    private static Vector2 Along(StreakReading reading, Matrix3x2 toPicture)
    {
        if ((reading.FirstEnd ?? reading.ThresholdFirstEnd) is not PicturePoint a
            || (reading.SecondEnd ?? reading.ThresholdSecondEnd) is not PicturePoint b)
        {
            return Vector2.UnitX;
        }

        Vector2 way = Place(b, toPicture) - Place(a, toPicture);

        // The direction of a streak of a few pixels is noise.
        return way.Length() > 20 ? Vector2.Normalize(way) : Vector2.UnitX;
    }

    /// <summary>Two strokes across the streak with a gap in the middle, so that the end itself stays visible.</summary>
    private static IEnumerable<XElement> ProfileMark(Vector2 end, Vector2 along, float unit, int heightPx)
    {
        Vector2 across = new(-along.Y, along.X);
        float gap = 3.5f * unit;
        float reach = Math.Max(gap + 4 * unit, Math.Min(14 * unit, 0.45f * heightPx));
        string path = $"M{At(end + (across * gap))}L{At(end + (across * reach))}M{At(end - (across * gap))}L{At(end - (across * reach))}";
        return Outlined(Svg + "path", unit, "#ffffff", new XAttribute("d", path));
    }

    private static IEnumerable<XElement> ThresholdMark(Vector2 end, float unit) => Outlined(Svg + "circle", unit, "#ffd23f",
        new XAttribute("cx", Number(end.X)), new XAttribute("cy", Number(end.Y)), new XAttribute("r", Number(2.6f * unit)));

    /// <summary>A bright stroke over a wider dark one: visible on any picture.</summary>
    private static IEnumerable<XElement> Outlined(XName name, float unit, string colour, params XAttribute[] shape)
    {
        XElement Stroke(string strokeColour, float width) => new(name, shape, new XAttribute("fill", "none"),
            new XAttribute("stroke", strokeColour), new XAttribute("stroke-width", Number(width * unit)));
        return [Stroke("#000000", 2.2f), Stroke(colour, 1f)];
    }

    private static string At(Vector2 p) => $"{Number(p.X)} {Number(p.Y)}";

    private static string Number(float value) => value.ToString("0.##", CultureInfo.InvariantCulture);
}
