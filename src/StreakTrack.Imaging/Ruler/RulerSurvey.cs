using StreakTrack.Core;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Ruler;

/// <summary>The ruler of a clip, looked at before the frames are measured: its scale from marks and ticks, and whether it moves.</summary>
/// <param name="Search">The scale and how it was had.</param>
/// <param name="Reference">The picture that the scale belongs to: the usual picture of a still clip, else the first frame.</param>
/// <param name="Moves">Whether the ruler moves in the picture by more than following it can be wrong.</param>
/// <param name="LargestMotionPx">Largest distance that a marked point was found from its place in the first frame, in px, among the frames sampled; NaN
/// when the ruler shows too little to be followed.</param>
public sealed record RulerSurvey(TickSearch Search, RulerPicture Reference, bool Moves, double LargestMotionPx)
{
    /// <summary>Motion below this is not told from what a codec does to a faint still ruler, and leaves lengths as they are; in px.</summary>
    private const double StillPx = 0.4;

    /// <summary>Half the width of the strip that is not looked at for motion, in mm: a streak with its glare.</summary>
    private const double StreakHalfMm = 2.5;

    /// <summary>Surveys the ruler.</summary>
    /// <param name="frames">Frames from all over the clip, the first of them the one that the marks belong to; ten are plenty. All cover the same
    /// region, best all of the ruler with 15 mm on either side of the marks' line.</param>
    /// <param name="orientation">The clip's orientation.</param>
    /// <param name="marks">Two or more marks.</param>
    /// <param name="scaleOptions">How scales are fitted.</param>
    /// <param name="options">How ticks are searched.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="UnusableInputException">The marks make no scale.</exception>
    /// <exception cref="ArgumentException">There are no frames, or an option is out of its range.</exception>
    public static RulerSurvey Take(IReadOnlyList<RawFrame> frames, DisplayOrientation orientation, IReadOnlyList<RulerMark> marks,
        RulerScaleOptions scaleOptions, TickFinderOptions options, CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(frames);
        if (frames.Count == 0)
            throw new ArgumentException("There are no frames.", nameof(frames));
        RulerPicture[] pictures = [.. frames.Select(frame => RulerPicture.FromFrame(frame, orientation))];
        RulerScale clicked = RulerScaleFitter.Fit(marks, scaleOptions);
        double motion = LargestMotion(pictures, clicked, cancellationToken);
        bool moves = motion > StillPx;
        RulerPicture reference = moves || pictures.Length < 3 ? pictures[0] : RulerPicture.UsualOf(pictures);
        return new RulerSurvey(TickFinder.Find(reference, marks, scaleOptions, options, cancellationToken), reference, moves, motion);
    }

    /// <summary>The rectangle of the coded picture that holds the ruler around its marks: the whole length of the marks' line within the picture, and
    /// <paramref name="acrossMm"/> on either side of it. Null when the marks' line does not cross the picture.</summary>
    /// <param name="marked">The scale of the marks.</param>
    /// <param name="orientation">The clip's orientation.</param>
    /// <param name="acrossMm">Distance from the line to include, in mm.</param>
    public static PixelRegion? RegionOf(RulerScale marked, DisplayOrientation orientation, double acrossMm = 16)
    {
        ArgumentNullException.ThrowIfNull(marked);
        ArgumentNullException.ThrowIfNull(orientation);
        double middle = (marked.MinReadingMm + marked.MaxReadingMm) / 2;
        AxisFrame axis = new(marked.PointAt(middle), marked.AxisDirection);
        double across = acrossMm / marked.MillimetresPerPixelAt(axis.Origin);
        double reach = orientation.DisplayWidth + orientation.DisplayHeight;
        double uMin = double.PositiveInfinity, uMax = double.NegativeInfinity, vMin = uMin, vMax = uMax;
        for (double s = -reach; s <= reach; s++)
        {
            PicturePoint point = axis.PointAt(s, 0);
            if (!(point.UPx >= 0 && point.VPx >= 0 && point.UPx <= orientation.DisplayWidth - 1 && point.VPx <= orientation.DisplayHeight - 1))
                continue;
            foreach (double n in (ReadOnlySpan<double>)[-across, across])
            {
                PicturePoint side = axis.PointAt(s, n);
                (uMin, uMax) = (Math.Min(uMin, side.UPx), Math.Max(uMax, side.UPx));
                (vMin, vMax) = (Math.Min(vMin, side.VPx), Math.Max(vMax, side.VPx));
            }
        }

        if (double.IsInfinity(uMin))
            return null;
        (double x1, double y1) = orientation.ToCoded(new PicturePoint(uMin, vMin));
        (double x2, double y2) = orientation.ToCoded(new PicturePoint(uMax, vMax));
        // Rounding of a whole number must not cost a row.
        const double Slack = 1e-6;
        int left = (int)Math.Max(0, Math.Floor(Math.Min(x1, x2) + Slack)), top = (int)Math.Max(0, Math.Floor(Math.Min(y1, y2) + Slack));
        int right = (int)Math.Min(orientation.CodedWidth - 1, Math.Ceiling(Math.Max(x1, x2) - Slack));
        int bottom = (int)Math.Min(orientation.CodedHeight - 1, Math.Ceiling(Math.Max(y1, y2) - Slack));
        return new PixelRegion(left, top, right - left + 1, bottom - top + 1);
    }

    private static double LargestMotion(RulerPicture[] pictures, RulerScale scale, CancellationToken cancellationToken)
    {
        PicturePoint[] ends = [scale.PointAt(scale.MinReadingMm), scale.PointAt(scale.MaxReadingMm)];
        double largest = double.NaN;
        try
        {
            RulerFollower follower = new(pictures[0], scale, new RulerFollowerOptions
            {
                StreakHalfWidthPx = StreakHalfMm / scale.MillimetresPerPixelAt(ends[0]),
            });
            foreach (RulerPicture picture in pictures.Skip(1))
            {
                cancellationToken.ThrowIfCancellationRequested();
                RulerMotion motion = follower.Follow(picture);
                if (!motion.Followed)
                    continue;
                foreach (PicturePoint end in ends)
                {
                    PicturePoint now = motion.ToFrame(end);
                    double distance = Math.Sqrt(Math.Pow(now.UPx - end.UPx, 2) + Math.Pow(now.VPx - end.VPx, 2));
                    largest = double.IsNaN(largest) ? distance : Math.Max(largest, distance);
                }
            }
        }
        catch (UnusableInputException)
        {
            // Nothing to follow, as on a ruler in the dark: the clip is then taken as still, and the motion stays unknown.
        }

        return largest;
    }
}
