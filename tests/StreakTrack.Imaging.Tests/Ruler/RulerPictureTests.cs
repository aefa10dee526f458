using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Tests.Ruler;

public class RulerPictureTests
{
    // Turned by 90 degrees either way, by 180, mirrored, transposed.
    [Theory]
    [InlineData(1, 0, 0, 1)]
    [InlineData(0, 1, -1, 0)]
    [InlineData(0, -1, 1, 0)]
    [InlineData(-1, 0, 0, -1)]
    [InlineData(-1, 0, 0, 1)]
    [InlineData(0, 1, 1, 0)]
    public void A_regions_samples_land_where_the_displayed_picture_has_them(int xx, int xy, int yx, int yy)
    {
        DisplayOrientation orientation = new(20, 12, xx, xy, yx, yy);
        PixelRegion region = new(3, 2, 7, 5);
        RawFrame frame = new() { Region = region, Layout = PlaneLayout.Luma, Plane0 = [.. Enumerable.Range(0, 35).Select(i => (byte)i)] };
        RulerPicture picture = RulerPicture.FromFrame(frame, orientation);
        for (int y = 0; y < 5; y++)
        {
            for (int x = 0; x < 7; x++)
            {
                PicturePoint point = orientation.ToDisplay(region.X + x, region.Y + y);
                Assert.Equal(y * 7 + x, picture.At(point.UPx, point.VPx), 1e-5);
            }
        }
    }

    [Fact]
    public void Ten_bit_and_colour_samples_are_read()
    {
        DisplayOrientation upright = DisplayOrientation.Upright(2, 2);
        PixelRegion all = new(0, 0, 2, 2);
        RawFrame ten = new() { Region = all, Layout = PlaneLayout.Yuv420, BitDepth = 10, Plane0 = [0x01, 0x02, 0, 0, 0, 0, 0xff, 0x03] };
        Assert.Equal(0x201, RulerPicture.FromFrame(ten, upright).At(0, 0));
        Assert.Equal(0x3ff, RulerPicture.FromFrame(ten, upright).At(1, 1));
        RawFrame bgr = new() { Region = all, Layout = PlaneLayout.Bgr24, Plane0 = [10, 20, 30, 0, 0, 0, 0, 0, 0, 0, 0, 0] };
        // ITU-R BT.709 luma of (30, 20, 10).
        Assert.Equal(0.2126 * 30 + 0.7152 * 20 + 0.0722 * 10, RulerPicture.FromFrame(bgr, upright).At(0, 0), 1e-4);
    }

    [Fact]
    public void The_usual_picture_keeps_what_stays()
    {
        DisplayOrientation upright = DisplayOrientation.Upright(2, 2);
        RawFrame[] frames = [.. new byte[] { 10, 11, 200, 12, 9, 10, 11, 11 }.Select(value => Of(2, value, 5, 5, 5))];
        // Sorted 9 10 10 11 11 11 12 200: the middle half is 10 11 11 11.
        Assert.Equal(10.75, RulerPicture.UsualOf(frames, upright).At(0, 0), 1e-6);
        Assert.Equal(5, RulerPicture.UsualOf(frames, upright).At(1, 0), 1e-6);
        // Turned upside down with the clip.
        Assert.Equal(10.75, RulerPicture.UsualOf(frames, new DisplayOrientation(2, 2, -1, 0, 0, -1)).At(1, 1), 1e-6);
        Assert.Throws<ArgumentException>(() => RulerPicture.UsualOf([], upright));
        Assert.Throws<ArgumentException>(() => RulerPicture.UsualOf([frames[0], Of(3, 0, 0, 0, 0, 0, 0)], upright));

        static RawFrame Of(int width, params byte[] samples) =>
            new() { Region = new PixelRegion(0, 0, width, 2), Layout = PlaneLayout.Luma, Plane0 = samples };
    }

    [Fact]
    public void Samples_that_do_not_fill_the_picture_are_the_callers_fault()
    {
        Assert.Throws<ArgumentException>(() => new RulerPicture(new float[5], 3, 2));
        Assert.True(double.IsNaN(new RulerPicture(new float[6], 3, 2).At(-0.1, 0)));
    }
}
