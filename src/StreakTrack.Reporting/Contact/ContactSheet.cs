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
    /// <summary>Wider pictures are made smaller: a page of frames must stay small enough to be sent by mail.</summary>
    private const int MaxWidthPx = 1600;

    private const int JpegQuality = 88;

    /// <summary>Height of what is shown of a picture around a level streak, over its width.</summary>
    private const float ShownHeight = 1 / 14f;

    /// <summary>An enlargement shows this part of the picture's width, in half of it.</summary>
    private const float EnlargedPart = 1 / 8f;

    /// <summary>Width of an enlargement over its height.</summary>
    private const float EnlargedAspect = 5;

    private static readonly XNamespace Svg = "http://www.w3.org/2000/svg";

    /// <summary>One frame: the picture with its marks, and below it both ends enlarged.</summary>
    /// <param name="contact">The frame.</param>
    /// <param name="identifier">An identifier that nothing else in the page has.</param>
    /// <param name="description">What is shown, for readers who cannot see it.</param>
    public static XElement Draw(ContactPicture contact, string identifier, string description)
    {
        using Image<Rgb24> picture = Prepare(contact, out Matrix3x2 toPicture);
        Marks marks = new(contact.Reading, toPicture);
        float width = picture.Width;
        float height = picture.Height;
        float gap = width / 160;
        float enlargedWidth = (width - gap) / 2;
        float enlargedHeight = enlargedWidth / EnlargedAspect;
        bool hasEnds = marks.First is not null && marks.Second is not null;

        XElement drawing = new(Svg + "svg",
            new XAttribute("xmlns", Svg.NamespaceName),
            new XAttribute("viewBox", $"0 0 {Number(width)} {Number(hasEnds ? height + gap + enlargedHeight : height)}"),
            new XAttribute("role", "img"),
            new XAttribute("aria-label", description),
            new XElement(Svg + "image", new XAttribute("id", identifier), new XAttribute("width", Number(width)),
                new XAttribute("height", Number(height)), new XAttribute("href", DataUri(picture))),
            marks.Draw(width / 400, height));
        if (hasEnds)
        {
            Vector2[] ends = [.. new[] { marks.First!.Value, marks.Second!.Value }.OrderBy(end => end.X)];
            drawing.Add(Enlarged(ends[0], 0), Enlarged(ends[1], enlargedWidth + gap));
        }

        return drawing;

        XElement Enlarged(Vector2 end, float x)
        {
            float shownWidth = width * EnlargedPart;
            float shownHeight = shownWidth / EnlargedAspect;
            return new XElement(Svg + "svg",
                new XAttribute("x", Number(x)), new XAttribute("y", Number(height + gap)),
                new XAttribute("width", Number(enlargedWidth)), new XAttribute("height", Number(enlargedHeight)),
                new XAttribute("viewBox",
                    $"{At(end - (new Vector2(shownWidth, shownHeight) / 2))} {Number(shownWidth)} {Number(shownHeight)}"),
                new XElement(Svg + "use", new XAttribute("href", "#" + identifier)),
                marks.Draw(shownWidth / 170, shownHeight));
        }
    }

    /// <summary>The picture with the streak lying flat, no wider than needed, and the map that belongs to it.</summary>
    private static Image<Rgb24> Prepare(ContactPicture contact, out Matrix3x2 toPicture)
    {
        Image<Rgb24> picture = contact.Picture.Clone();
        toPicture = contact.DisplayToPicture;
        if (picture.Height > picture.Width)
        {
            // Turned so that readings grow to the right, as on a ruler on the table, whose digits then stand upright.
            Marks upright = new(contact.Reading, toPicture);
            bool growsDownward = !(upright.First?.Y > upright.Second?.Y);
            toPicture *= growsDownward
                ? new Matrix3x2(0, -1, 1, 0, 0, picture.Width - 1)
                : new Matrix3x2(0, 1, -1, 0, picture.Height - 1, 0);
            picture.Mutate(p => p.Rotate(growsDownward ? RotateMode.Rotate270 : RotateMode.Rotate90));
        }

        Marks marks = new(contact.Reading, toPicture);
        if (marks.First is Vector2 first && marks.Second is Vector2 second)
        {
            // Only the rows around the streak say something; a streak on the slant needs more of them.
            int rows = Math.Max(1, (int)MathF.Round((picture.Width * ShownHeight) + Math.Abs(second.Y - first.Y)));
            int top = Math.Clamp((int)((first.Y + second.Y - rows) / 2), 0, Math.Max(0, picture.Height - rows));
            rows = Math.Min(rows, picture.Height - top);
            toPicture *= Matrix3x2.CreateTranslation(0, -top);
            picture.Mutate(p => p.Crop(new Rectangle(0, top, picture.Width, rows)));
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

    private static string At(Vector2 p) => $"{Number(p.X)} {Number(p.Y)}";

    private static string Number(float value) => value.ToString("0.##", CultureInfo.InvariantCulture);

    /// <summary>The found ends in the coordinates of the drawing.</summary>
    private sealed class Marks(StreakReading reading, Matrix3x2 toPicture)
    {
        private readonly Vector2?[] _profile = [Place(reading.FirstEnd, toPicture), Place(reading.SecondEnd, toPicture)];
        private readonly Vector2?[] _threshold =
            [Place(reading.ThresholdFirstEnd, toPicture), Place(reading.ThresholdSecondEnd, toPicture)];

        /// <summary>The better of the two estimates of the first end.</summary>
        public Vector2? First => _profile[0] ?? _threshold[0];

        /// <summary>The better of the two estimates of the second end.</summary>
        public Vector2? Second => _profile[1] ?? _threshold[1];

        /// <summary>Draws the marks for a view.</summary>
        /// <param name="unit">Width of a thin line, in px of the picture.</param>
        /// <param name="viewHeight">Height of what is seen, in px of the picture.</param>
        public IEnumerable<XElement> Draw(float unit, float viewHeight) =>
            _threshold.OfType<Vector2>().SelectMany(end => ThresholdMark(end, unit))
                .Concat(_profile.OfType<Vector2>().SelectMany(end => ProfileMark(end, unit, viewHeight)));

        /// <summary>Two strokes across the streak with a gap in the middle, so that the end itself stays visible.</summary>
        private IEnumerable<XElement> ProfileMark(Vector2 end, float unit, float viewHeight)
        {
            Vector2 along = Along();
            Vector2 across = new(-along.Y, along.X);
            float gap = 3.5f * unit;
            float reach = Math.Max(gap + (4 * unit), Math.Min(14 * unit, 0.45f * viewHeight));
            string path = $"M{At(end + (across * gap))}L{At(end + (across * reach))}"
                + $"M{At(end - (across * gap))}L{At(end - (across * reach))}";
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

        /// <summary>The direction of the streak; to the right where it is not known.</summary>
        private Vector2 Along()
        {
            if (First is not Vector2 a || Second is not Vector2 b)
                return Vector2.UnitX;

            // The direction of a streak of a few pixels is noise.
            return (b - a).Length() > 20 ? Vector2.Normalize(b - a) : Vector2.UnitX;
        }

        /// <summary>Where a point lies in the drawing, whose pixel centres are at halves.</summary>
        private static Vector2? Place(PicturePoint? point, Matrix3x2 toPicture) => point is PicturePoint p
            ? Vector2.Transform(new Vector2((float)p.UPx, (float)p.VPx), toPicture) + new Vector2(0.5f)
            : null;
    }
}
