using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Tests.Ruler;

public class TickSnapperTests
{
    private static readonly TickSnapOptions Defaults = new();

    [Theory]
    [InlineData(0.7)]
    [InlineData(-1.5)]
    [InlineData(3)]
    public void A_click_beside_a_tick_moves_onto_it_along_the_ruler(double errorPx)
    {
        SyntheticRuler ruler = new() { MiddleMm = 100.03 };
        RulerPicture picture = ruler.Draw();
        foreach (double mm in new[] { 90.0, 95, 100, 120 })
        {
            PicturePoint tick = ruler.At(mm, 2);
            TickSnap? snap = TickSnapper.Snap(picture, new PicturePoint(tick.UPx + errorPx, tick.VPx), Defaults);
            Assert.NotNull(snap);
            // Noise of 1 % of the brightness over twenty rows and more: a few hundredths of a pixel.
            Assert.Equal(tick.UPx, snap.Point.UPx, 0.08);
            Assert.Equal(tick.VPx, snap.Point.VPx, 0.2);
            Assert.InRange(snap.UncertaintyPx, 0.01, 0.08);
            Assert.True(snap.Contrast > 0.2);
        }
    }

    [Fact]
    public void The_nearest_of_several_ticks_is_taken()
    {
        SyntheticRuler ruler = new();
        PicturePoint between = ruler.At(100.35, 2);
        TickSnap? snap = TickSnapper.Snap(ruler.Draw(), between, Defaults);
        Assert.Equal(ruler.At(100, 2).UPx, Assert.IsType<TickSnap>(snap).Point.UPx, 0.08);
    }

    [Fact]
    public void Upright_rulers_and_given_directions_serve_as_well()
    {
        SyntheticRuler ruler = new() { TurnDegrees = 90, Width = 300, Height = 1200 };
        PicturePoint tick = ruler.At(110, 2), click = new(tick.UPx, tick.VPx + 1.2);
        RulerPicture picture = ruler.Draw();
        foreach (PicturePoint? along in new PicturePoint?[] { null, new PicturePoint(0, -3) })
        {
            TickSnap? snap = TickSnapper.Snap(picture, click, Defaults with { AlongRuler = along });
            Assert.Equal(tick.VPx, Assert.IsType<TickSnap>(snap).Point.VPx, 0.08);
        }
    }

    [Fact]
    public void Bright_ticks_are_found_where_lines_are_bright()
    {
        SyntheticRuler ruler = new() { TickStepMm = 5, TickDepth = -0.8 };
        PicturePoint tick = ruler.At(105, 2);
        TickSnap? snap = TickSnapper.Snap(ruler.Draw(), new PicturePoint(tick.UPx + 2, tick.VPx), Defaults);
        Assert.Equal(tick.UPx, Assert.IsType<TickSnap>(snap).Point.UPx, 0.08);
        Assert.True(snap.Contrast < 0);
    }

    [Fact]
    public void Without_a_tick_within_reach_nothing_is_returned()
    {
        SyntheticRuler ruler = new() { TickStepMm = 5 };
        RulerPicture picture = ruler.Draw();
        PicturePoint far = ruler.At(102.5, 2);
        Assert.Null(TickSnapper.Snap(picture, far, Defaults with { AlongRuler = new PicturePoint(1, 0) }));
        Assert.Null(TickSnapper.Snap(picture, new PicturePoint(-5, 40), Defaults));
        Assert.Null(TickSnapper.Snap(picture, new PicturePoint(double.NaN, 40), Defaults));
    }

    [Fact]
    public void Options_out_of_range_are_the_callers_fault()
    {
        RulerPicture picture = new(new float[100], 10, 10);
        Assert.Throws<ArgumentOutOfRangeException>(() => TickSnapper.Snap(picture, default, Defaults with { ReachPx = double.NaN }));
        Assert.Throws<ArgumentOutOfRangeException>(() => TickSnapper.Snap(picture, default, Defaults with { AlongRuler = default(PicturePoint) }));
    }
}
