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
        RulerFollowerOptions options = OptionsOf(band, streakHalfWidthPx);
        if (FollowerOf(RulerPicture.FromFrame(frames[0], facts.Orientation), scale, options) is not RulerFollower follower)
            return null;
        var tracking = new RulerTracking(follower, facts.Orientation);
        RulerMotion[] found = [.. frames.Select(tracking.Follow)];
        RulerMotion[] sure = [.. found.Where(IsSure)];
        if (2 * sure.Length < found.Length || !sure.Any(IsMoved))
            return null;
        motions = found;
        return tracking;
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

    /// <summary>Finds the ruler in the next frame.</summary>
    public RulerMotion Follow(RawFrame frame)
    {
        int count = frame.Region.Width * frame.Region.Height;
        if (_buffer.Length < count)
            _buffer = new float[count];
        return _follower.Follow(RulerPicture.FromFrame(frame, _orientation, _buffer));
    }
}
