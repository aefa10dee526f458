using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Tests.Clips;

public class FramePictureTests
{
    private static readonly ColourDescription Bt709 = new(ColourMatrix.Bt709, false, TransferFunction.Bt709, true, false);

    // Four quarters: red, green / blue, white, with the BT.709 codes of the primaries.
    [Theory]
    [InlineData(1, 0, 0, 1, "RGBW")]
    [InlineData(-1, 0, 0, 1, "GRWB")]
    [InlineData(-1, 0, 0, -1, "WBGR")]
    [InlineData(0, -1, 1, 0, "BRWG")]   // clockwise: the left column, from below, becomes the top row
    [InlineData(0, 1, 1, 0, "RBGW")]
    public void A_picture_is_turned_for_display(int xx, int xy, int yx, int yy, string expected)
    {
        RawFrame frame = Quarters();
        using Image<Rgb24> image = FramePicture.ToImage(frame, Bt709, new DisplayOrientation(16, 8, xx, xy, yx, yy), 16);
        Assert.Equal(xx == 0 ? (8, 16) : (16, 8), (image.Width, image.Height));
        int w = image.Width - 1, h = image.Height - 1;
        Assert.Equal(expected, string.Concat(Letter(image[0, 0]), Letter(image[w, 0]), Letter(image[0, h]), Letter(image[w, h])));
    }

    [Fact]
    public void A_large_picture_is_averaged_down()
    {
        using Image<Rgb24> image = FramePicture.ToImage(Quarters(), Bt709, DisplayOrientation.Upright(16, 8), 2);
        Assert.Equal((2, 1), (image.Width, image.Height));

        // Red and blue in equal parts; codes are averaged, so each is half of 255 to the rounding of the codes.
        Assert.InRange(image[0, 0].R, 126, 129);
        Assert.InRange(image[0, 0].B, 126, 129);
        Assert.InRange(image[0, 0].G, 0, 2);
    }

    private static char Letter(Rgb24 p) => (p.R > 250, p.G > 250, p.B > 250) switch
    {
        (true, true, true) => 'W',
        (true, false, false) => 'R',
        (false, true, false) => 'G',
        (false, false, true) => 'B',
        _ => '?',
    };

    private static RawFrame Quarters()
    {
        var frame = new RawFrame { Region = new PixelRegion(0, 0, 16, 8), Layout = PlaneLayout.Yuv444 };
        byte[][] codes = [[63, 102, 240], [173, 42, 26], [32, 240, 118], [235, 128, 128]];
        frame.Plane0 = Plane(0);
        frame.Plane1 = Plane(1);
        frame.Plane2 = Plane(2);
        return frame;

        byte[] Plane(int component) => [.. Enumerable.Range(0, 128).Select(i => codes[(i / 64 * 2) + (i % 16 / 8)][component])];
    }
}
