using StreakTrack.Core;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Tests.Ruler;

public class RulerFollowerTests
{
    // Noise of 1 % on 6000 pixels at edges leaves thousandths of a pixel; interpolation of lines of 1.1 px width some hundredths.
    private const double ShiftTolerancePx = 0.03;

    private static readonly RulerFollowerOptions Defaults = new() { StreakHalfWidthPx = 20 };

    [Fact]
    public void A_shaking_ruler_is_followed_whatever_the_streak_and_the_exposure_do()
    {
        SyntheticRuler still = new() { StreakLevel = 150, MiddleMm = 75 };
        RulerFollower follower = new(still.Draw(), ScaleOf(still), Defaults);
        for (int frame = 1; frame <= 12; frame++)
        {
            double u = 7 * Math.Sin(0.8 * frame) + 0.3 * frame, v = 5 * Math.Cos(0.7 * frame);
            SyntheticRuler now = still with
            {
                ShiftU = u, ShiftV = v, StreakHalfMm = 30 - 2 * frame, Gain = frame > 6 ? 1.7 : 1, Seed = frame + 1,
            };
            RulerMotion motion = follower.Follow(now.Draw());
            Assert.True(motion.Followed);
            Assert.Equal(u, motion.ShiftUPx, ShiftTolerancePx);
            // The changing tail of the streak lies along the ruler's edges and pulls a little across it.
            Assert.Equal(v, motion.ShiftVPx, 2 * ShiftTolerancePx);
            // Interpolation half-way between pixels takes up to a sixth of the contrast of lines 1.1 px wide.
            Assert.InRange(motion.Gain / (frame > 6 ? 1.7 : 1), 0.83, 1.05);
        }
    }

    [Fact]
    public void Turning_and_approaching_are_taken_out_of_points()
    {
        SyntheticRuler still = new() { MiddleMm = 75 };
        RulerFollower follower = new(still.Draw(), ScaleOf(still), Defaults);
        SyntheticRuler moved = still with { TurnDegrees = 0.2, PxPerMm = 8.02, ShiftU = -2.3, ShiftV = 1.4, Seed = 9 };
        RulerMotion motion = follower.Follow(moved.Draw());
        foreach (double mm in new[] { 40.0, 75, 110 })
        {
            PicturePoint back = motion.ToReference(moved.At(mm, 4)), there = motion.ToFrame(still.At(mm, 4));
            Assert.Equal(still.At(mm, 4).UPx, back.UPx, 2 * ShiftTolerancePx);
            Assert.Equal(still.At(mm, 4).VPx, back.VPx, 2 * ShiftTolerancePx);
            Assert.Equal(moved.At(mm, 4).UPx, there.UPx, 2 * ShiftTolerancePx);
        }
    }

    [Fact]
    public void A_jump_by_more_than_a_tick_is_not_taken_for_a_smaller_one()
    {
        SyntheticRuler still = new() { MiddleMm = 75 };
        RulerFollower follower = new(still.Draw(), ScaleOf(still), Defaults);
        // Ticks are 8 px apart: from 0 to 9.4 px the nearest tick lies at 1.4 px.
        Assert.Equal(0, follower.Follow((still with { Seed = 2 }).Draw()).ShiftUPx, ShiftTolerancePx);
        Assert.Equal(9.4, follower.Follow((still with { ShiftU = 9.4, Seed = 3 }).Draw()).ShiftUPx, ShiftTolerancePx);
    }

    [Fact]
    public void A_ruler_out_of_sight_is_reported_and_found_again()
    {
        SyntheticRuler still = new() { MiddleMm = 75 };
        RulerFollower follower = new(still.Draw(), ScaleOf(still), Defaults);
        RulerMotion before = follower.Follow((still with { ShiftU = 2, Seed = 2 }).Draw());
        RulerMotion hidden = follower.Follow((still with { Covered = (-1000, 1000), Seed = 3 }).Draw());
        Assert.False(hidden.Followed);
        Assert.Equal(before.ShiftUPx, hidden.ShiftUPx);
        RulerMotion again = follower.Follow((still with { ShiftU = 20.5, ShiftV = -8, Seed = 4 }).Draw());
        Assert.True(again.Followed);
        Assert.Equal(20.5, again.ShiftUPx, ShiftTolerancePx);
    }

    [Fact]
    public void A_frame_cut_to_the_ruler_gives_the_same_motion()
    {
        SyntheticRuler still = new() { MiddleMm = 75 };
        RulerPicture whole = (still with { ShiftU = 3.3, Seed = 2 }).Draw();
        float[] part = new float[whole.Width * 200];
        for (int y = 0; y < 200; y++)
        {
            for (int x = 0; x < whole.Width; x++)
                part[y * whole.Width + x] = (float)whole.At(x, y + 50);
        }

        RulerMotion a = new RulerFollower(still.Draw(), ScaleOf(still), Defaults with { AcrossMm = 8 }).Follow(whole);
        RulerMotion b = new RulerFollower(still.Draw(), ScaleOf(still), Defaults with { AcrossMm = 8 }).Follow(new RulerPicture(part, whole.Width, 200, 0, 50));
        Assert.Equal(a.ShiftUPx, b.ShiftUPx, 1e-6);
        Assert.Equal(a.ShiftVPx, b.ShiftVPx, 1e-6);
    }

    [Fact]
    public void A_reference_without_anything_to_follow_is_refused()
    {
        SyntheticRuler still = new();
        RulerPicture cut = new(new float[40 * 40], 40, 40, 5000, 5000);
        Assert.Throws<UnusableInputException>(() => new RulerFollower(cut, ScaleOf(still), Defaults));
        Assert.Throws<ArgumentOutOfRangeException>(() => new RulerFollower(still.Draw(), ScaleOf(still), Defaults with { ReachPx = 0 }));
    }

    private static RulerScale ScaleOf(SyntheticRuler ruler) =>
        RulerScaleFitter.Fit([ruler.Mark(ruler.MiddleMm - 60), ruler.Mark(ruler.MiddleMm + 60)], new RulerScaleOptions());
}
