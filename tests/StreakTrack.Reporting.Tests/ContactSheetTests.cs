using System.Globalization;
using System.Numerics;
using System.Xml.Linq;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Reporting.Contact;

namespace StreakTrack.Reporting.Tests;

public class ContactSheetTests
{
    [Theory]
    [InlineData(30)]
    [InlineData(170)]
    public void An_upright_strip_is_laid_flat_with_readings_growing_to_the_right(int secondRow)
    {
        // One white pixel where the end is said to be: wherever the strip is turned to, the mark must stay on it.
        using Image<Rgb24> strip = new(40, 200, new Rgb24(0, 0, 0));
        for (int dx = -1; dx <= 1; dx++)
        {
            for (int dy = -1; dy <= 1; dy++)
                strip[12 + dx, 150 + dy] = new Rgb24(255, 255, 255);
        }

        StreakReading reading = new()
        {
            Frame = 3,
            TimeSeconds = 0.1,
            ThresholdFirstEnd = new PicturePoint(112, 350),
            ThresholdSecondEnd = new PicturePoint(112, 200 + secondRow),
        };
        ContactPicture contact = new(reading, strip, Matrix3x2.CreateTranslation(-100, -200));
        XElement drawing = ContactSheet.Draw(contact, "strip", "a strip");

        using Image<Rgb24> shown = Decode(drawing);
        XElement[] circles = [.. drawing.Elements().Where(e => e.Name.LocalName == "circle")];
        XElement circle = circles[0];
        Assert.Equal(200, shown.Width);
        Assert.True((double)circle.Attribute("cx")! < (double)circles[^1].Attribute("cx")!);
        int x = (int)double.Parse((string)circle.Attribute("cx")!, CultureInfo.InvariantCulture);
        int y = (int)double.Parse((string)circle.Attribute("cy")!, CultureInfo.InvariantCulture);
        Assert.InRange(shown[x, y].R, 200, 255);
    }

    [Fact]
    public void A_wide_picture_is_made_smaller_and_its_marks_with_it()
    {
        using Image<Rgb24> strip = new(3200, 100);
        StreakReading reading = new() { Frame = 0, TimeSeconds = 0, ThresholdFirstEnd = new PicturePoint(3199, 99) };
        XElement drawing = ContactSheet.Draw(new ContactPicture(reading, strip, Matrix3x2.Identity), "strip", "a strip");
        XElement circle = drawing.Elements().First(e => e.Name.LocalName == "circle");

        // The centre of the last pixel is half a pixel inside the edge, so a quarter after halving.
        Assert.Equal("1599.75", (string?)circle.Attribute("cx"));
        Assert.Equal("49.75", (string?)circle.Attribute("cy"));
    }

    [Fact]
    public void Of_a_high_picture_the_rows_around_the_streak_are_shown()
    {
        using Image<Rgb24> picture = new(700, 400);
        for (int x = 100; x <= 600; x++)
            picture[x, 300] = new Rgb24(255, 255, 255);
        StreakReading reading = new()
        {
            Frame = 0, TimeSeconds = 0, FirstEnd = new PicturePoint(100, 300), SecondEnd = new PicturePoint(600, 300),
        };
        XElement drawing = ContactSheet.Draw(new ContactPicture(reading, picture, Matrix3x2.Identity), "strip", "a strip");

        // A fourteenth of 700 px are 50 rows, with the streak in their middle.
        using Image<Rgb24> shown = Decode(drawing);
        Assert.Equal((700, 50), (shown.Width, shown.Height));
        Assert.InRange(shown[350, 25].G, 200, 255);
    }

    private static Image<Rgb24> Decode(XElement drawing)
    {
        string href = (string)drawing.Elements().First(e => e.Name.LocalName == "image").Attribute("href")!;
        return Image.Load<Rgb24>(Convert.FromBase64String(href[(href.IndexOf(',') + 1)..]));
    }

    [Fact]
    public void Both_ends_are_shown_enlarged_in_the_middle_of_their_views()
    {
        using Image<Rgb24> strip = new(1200, 80);
        StreakReading reading = new()
        {
            Frame = 0, TimeSeconds = 0, FirstEnd = new PicturePoint(199.5, 39.5), SecondEnd = new PicturePoint(999.5, 39.5),
        };
        XElement drawing = ContactSheet.Draw(new ContactPicture(reading, strip, Matrix3x2.Identity), "strip", "a strip");
        string[] views = [.. drawing.Elements().Where(e => e.Name.LocalName == "svg").Select(e => (string)e.Attribute("viewBox")!)];

        // An eighth of 1200 px is 150 px wide and a fifth of that high, centred on (200, 40) and (1000, 40).
        Assert.Equal(["125 25 150 30", "925 25 150 30"], views);
    }

    [Fact]
    public void A_frame_without_ends_is_shown_without_marks()
    {
        using Image<Rgb24> strip = new(100, 20);
        StreakReading reading = new() { Frame = 0, TimeSeconds = 0, Flags = FrameFlags.NoStreak };
        XElement drawing = ContactSheet.Draw(new ContactPicture(reading, strip, Matrix3x2.Identity), "strip", "an empty strip");
        Assert.Equal(["image"], drawing.Elements().Select(e => e.Name.LocalName));
    }
}
