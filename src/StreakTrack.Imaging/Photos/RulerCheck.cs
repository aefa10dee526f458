using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Photos;

/// <summary>Whether the ruler lies in every photograph where the first one shows it, in a series in which none of a sample showed it elsewhere.</summary>
/// <param name="Told">Whether most photographs show enough of the ruler to tell.</param>
/// <param name="Moved">Photographs that show it elsewhere.</param>
/// <param name="Lost">Photographs in which it was not recognised.</param>
internal sealed record RulerCheck(bool Told, IReadOnlyList<int> Moved, IReadOnlyList<int> Lost)
{
    /// <summary>A shift of less than this many of its standard uncertainties is none.</summary>
    private const double Doubts = 4;

    /// <summary>Looks at all photographs.</summary>
    /// <param name="photos">The photographs.</param>
    /// <param name="frames">The same as frames.</param>
    /// <param name="scale">The scale, which belongs to the first one.</param>
    /// <param name="band">The streak's band.</param>
    /// <param name="streakHalfWidthPx">How far from its middle the streak's light reaches.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    public static RulerCheck Of(
        IReadOnlyList<SeriesPhoto> photos, PhotoFrames frames, RulerScale scale, StripGeometry band, double streakHalfWidthPx,
        CancellationToken cancellationToken)
    {
        RulerFollowerOptions options = RulerTracking.OptionsOf(band, streakHalfWidthPx);
        DisplayOrientation orientation = frames.Facts.Orientation;
        PixelRegion region = band.Region((int)Math.Ceiling(options.AcrossMm / scale.MiddleMillimetresPerPixel) + 8);
        using IFrameReader reader = frames.Open(region);
        var frame = new RawFrame();
        RulerFollower? follower = null;
        List<int> moved = [], lost = [];
        int told = 0;
        while (reader.TryRead(frame))
        {
            cancellationToken.ThrowIfCancellationRequested();
            var picture = RulerPicture.FromFrame(frame, orientation);
            follower ??= RulerTracking.FollowerOf(picture, scale, options);
            if (follower is null)
                return new RulerCheck(false, [], []);

            // A darker photograph shows less of the ruler; as long as it is recognised where it was, that will do.
            RulerMotion motion = follower.Follow(picture);
            bool sure = RulerTracking.IsSure(motion);
            double doubt = sure ? 0 : Doubts * motion.ShiftUncertaintyPx;
            if (!motion.Followed)
                lost.Add(frame.Index);
            else if (RulerTracking.IsMoved(motion) && Math.Max(Math.Abs(motion.ShiftUPx), Math.Abs(motion.ShiftVPx)) > doubt)
                (sure ? moved : lost).Add(frame.Index);
            told += sure ? 1 : 0;
        }

        return new RulerCheck(2 * told >= photos.Count, moved, lost);
    }
}
