using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Scale;

namespace StreakTrack.Core.Series;

/// <summary>Carries what was measured in each frame from pixels to millimetres on the ruler and to the mirror's angle.</summary>
public static class SeriesBuilder
{
    /// <summary>Builds the series of a clip.</summary>
    /// <param name="readings">One reading a frame, in the order of the clip.</param>
    /// <param name="scale">The scale of the ruler.</param>
    /// <param name="lever">The optical lever; null when the distance is not known, which leaves the angles missing.</param>
    /// <param name="excludedFrames">Frames that the user left out, by number; null for none.</param>
    /// <returns>
    /// One sample a reading. A frame without both ends, or with one beyond the ruler's vanishing point, has no amplitude. An end outside
    /// the marks is flagged <see cref="FrameFlags.OutsideMarks"/>.
    /// </returns>
    public static AmplitudeSeries Build(
        IReadOnlyList<StreakReading> readings, RulerScale scale, OpticalLever? lever = null, IReadOnlyList<int>? excludedFrames = null)
    {
        ArgumentNullException.ThrowIfNull(readings);
        ArgumentNullException.ThrowIfNull(scale);
        HashSet<int> excluded = [.. excludedFrames ?? []];
        return new AmplitudeSeries(readings.Select(reading => Sample(reading, scale, lever, excluded.Contains(reading.Frame))));
    }

    private static AmplitudeSample Sample(StreakReading reading, RulerScale scale, OpticalLever? lever, bool isExcluded)
    {
        (double left, double right) = Ends(reading.FirstEnd, reading.SecondEnd, scale);
        (double thresholdLeft, double thresholdRight) = Ends(reading.ThresholdFirstEnd, reading.ThresholdSecondEnd, scale);
        double amplitude = (right - left) / 2;
        FrameFlags flags = reading.Flags | (isExcluded ? FrameFlags.Excluded : FrameFlags.None);
        if (left < scale.MinReadingMm || right > scale.MaxReadingMm)
            flags |= FrameFlags.OutsideMarks;

        double uncertainty = double.NaN;
        if (double.IsFinite(amplitude) && reading is { FirstEnd: { } first, SecondEnd: { } second })
        {
            double millimetresPerPixel = (scale.MillimetresPerPixelAt(first) + scale.MillimetresPerPixelAt(second)) / 2;
            uncertainty = reading.HalfLengthUncertaintyPx * millimetresPerPixel;
        }

        return new AmplitudeSample
        {
            Frame = reading.Frame,
            TimeSeconds = reading.TimeSeconds,
            LeftMm = left,
            RightMm = right,
            AmplitudeMm = amplitude,
            AmplitudeUncertaintyMm = uncertainty,
            ThresholdAmplitudeMm = (thresholdRight - thresholdLeft) / 2,
            AmplitudeMrad = lever?.AmplitudeMradFromMm(amplitude) ?? double.NaN,
            Brightness = reading.Brightness,
            Flags = flags,
        };
    }

    private static (double Left, double Right) Ends(PicturePoint? first, PicturePoint? second, RulerScale scale)
    {
        if (first is not { } a || second is not { } b)
            return (double.NaN, double.NaN);
        double readingA = scale.ReadingMmAt(a), readingB = scale.ReadingMmAt(b);
        return (Math.Min(readingA, readingB), Math.Max(readingA, readingB));
    }
}
