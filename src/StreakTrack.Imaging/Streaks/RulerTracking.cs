using StreakTrack.Core;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Lays the strip over every frame where the ruler lies in it, in clips whose ruler moves in the picture.</summary>
internal sealed class RulerTracking
{
    /// <summary>A ruler that moves by less, in px, is left where it is.</summary>
    private const double Movement = 0.3;

    /// <summary>What the follower must reach to be believed.</summary>
    private const double BelievedCorrelation = 0.7, BelievedUncertaintyPx = 0.15;

    /// <summary>An uncertainty that more of the ruler would not lessen: what a codec leaves of shifts, a quarter of a pixel's standard deviation.</summary>
    private const double SmallDoubtPx = 0.072;

    /// <summary>Light of a streak reaches farther than this from its middle, in px.</summary>
    private const double LeastHalfWidthPx = 6;

    /// <summary>Room left around the ruler for its movement, in px.</summary>
    private const int TremblePx = 24;

    private readonly RulerFollower _follower;
    private readonly DisplayOrientation _orientation;
    private float[] _buffer = [];

    private RulerTracking(RulerFollower follower, DisplayOrientation orientation)
    {
        _follower = follower;
        _orientation = orientation;
    }

    /// <summary>Looks whether the ruler moves.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="scale">The scale, which belongs to the first frame.</param>
    /// <param name="band">The streak's strip in the first frame.</param>
    /// <param name="streakHalfWidthPx">How far from the strip's middle the streak's light reaches.</param>
    /// <param name="frames">Frames from all over the clip, the first one first.</param>
    /// <param name="motions">Receives the motion of each of them; null where the ruler does not move.</param>
    /// <returns>What follows the ruler; null when it stands still, or shows too little to tell.</returns>
    public static RulerTracking? Begin(
        ClipFacts facts, RulerScale scale, StripGeometry band, double streakHalfWidthPx, IReadOnlyList<RawFrame> frames,
        out IReadOnlyList<RulerMotion>? motions)
    {
        motions = null;
        var picture = RulerPicture.FromFrame(frames[0], facts.Orientation);

        // Where the ruler moves, the streak of all frames together looks wider than it is, and may seem to cover what there is to follow.
        RulerTracking? best = null;
        RulerMotion[] found = [];
        for (double halfWidth = streakHalfWidthPx; halfWidth >= Math.Min(LeastHalfWidthPx, streakHalfWidthPx); halfWidth /= 2)
        {
            if (FollowerOf(picture, scale, OptionsOf(band, halfWidth)) is not RulerFollower follower)
                continue;
            var tracking = new RulerTracking(follower, facts.Orientation);
            RulerMotion[] motionsOf = [.. frames.Select(f => tracking.Follow(f, apart: true))];
            if (best is null || Doubt(motionsOf) < Doubt(found))
                (best, found) = (tracking, motionsOf);
            if (Doubt(found) < SmallDoubtPx)
                break;
        }

        if (best is null || 2 * found.Count(IsSure) < found.Length || !found.Any(m => IsSure(m) && IsMoved(m)))
            return null;
        motions = found;
        return best;
    }

    // Median uncertainty, those not found being the least certain.
    private static double Doubt(RulerMotion[] motions) =>
        motions.Select(m => m.Followed ? m.ShiftUncertaintyPx : double.PositiveInfinity).Order().ElementAt(motions.Length / 2);

    /// <summary>What is decoded where the ruler may have to be followed: the strip that is searched, and as much of the ruler as the follower looks
    /// at wherever a hand's tremble moves it.</summary>
    /// <param name="wide">The strip that is searched.</param>
    /// <param name="scale">The scale.</param>
    public static PixelRegion RegionAround(StripGeometry wide, RulerScale scale)
    {
        double reach = (new RulerFollowerOptions().AcrossMm / scale.MiddleMillimetresPerPixel) + TremblePx;
        return wide.Region(Math.Max(0, (int)Math.Ceiling(reach) - wide.HalfWidthPx));
    }

    /// <summary>Settings of a follower that looks beside the streak.</summary>
    /// <param name="band">The streak's strip.</param>
    /// <param name="streakHalfWidthPx">How far from the strip's middle the streak's light reaches.</param>
    public static RulerFollowerOptions OptionsOf(StripGeometry band, double streakHalfWidthPx) => new()
    {
        StreakLine = (band.ToDisplay(0, 0), band.ToDisplay(band.LengthPx - 1, 0)),
        StreakHalfWidthPx = streakHalfWidthPx,
    };

    /// <summary>What follows the ruler from a picture on; null when it shows too little of it.</summary>
    /// <param name="picture">The picture to which the scale belongs.</param>
    /// <param name="scale">The scale.</param>
    /// <param name="options">Settings.</param>
    public static RulerFollower? FollowerOf(RulerPicture picture, RulerScale scale, RulerFollowerOptions options)
    {
        try
        {
            return new RulerFollower(picture, scale, options);
        }
        catch (UnusableInputException)
        {
            return null;
        }
    }

    /// <summary>Whether the ruler was recognised beyond doubt.</summary>
    public static bool IsSure(RulerMotion motion) =>
        motion.Followed && motion.Correlation > BelievedCorrelation && motion.ShiftUncertaintyPx < BelievedUncertaintyPx;

    /// <summary>Whether it moved by more than is left alone.</summary>
    public static bool IsMoved(RulerMotion motion) => Math.Max(Math.Abs(motion.ShiftUPx), Math.Abs(motion.ShiftVPx)) > Movement;

    /// <summary>Finds the ruler in a frame.</summary>
    /// <param name="frame">The frame.</param>
    /// <param name="apart">Whether it does not follow the last one at once.</param>
    public RulerMotion Follow(RawFrame frame, bool apart)
    {
        int count = frame.Region.Width * frame.Region.Height;
        if (_buffer.Length < count)
            _buffer = new float[count];
        return _follower.Follow(RulerPicture.FromFrame(frame, _orientation, _buffer), apart);
    }
}
