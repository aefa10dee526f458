namespace StreakTrack.Core.Series;

/// <summary>Averages a very long series in groups of neighbours, so that a fit of it takes no longer than one of a clip.</summary>
/// <remarks>
/// The mean of an exponential over a group of the duration h differs from its value at the mean time by h^2/(24 tau^2) of itself: with
/// thousands of groups in a few decay times that is a part in a hundred million. Scatter that is independent from point to point averages
/// out, and what is left of it the fit sees.
/// </remarks>
public static class SeriesGrouping
{
    /// <summary>Usable points up to which a series is fitted as it is: eleven minutes of 30 frames a second.</summary>
    public const int MostPoints = 20_000;

    /// <summary>Groups that a longer series is divided into, at most.</summary>
    private const int MostGroups = 5_000;

    /// <summary>The series itself, or the means of its groups when it has more than <see cref="MostPoints"/> usable points.</summary>
    /// <param name="series">The series.</param>
    /// <param name="pointsPerGroup">Receives the points that were averaged to one; 1 when the series was left as it is.</param>
    public static AmplitudeSeries Of(AmplitudeSeries series, out int pointsPerGroup)
    {
        ArgumentNullException.ThrowIfNull(series);
        pointsPerGroup = 1;
        if (series.UsableCount <= MostPoints)
            return series;

        int size = (series.UsableCount + MostGroups - 1) / MostGroups;
        pointsPerGroup = size;
        return new AmplitudeSeries(
            series.Where(s => s.IsUsable && double.IsFinite(s.TimeSeconds)).OrderBy(s => s.TimeSeconds).Chunk(size).Select(Mean));
    }

    private static AmplitudeSample Mean(AmplitudeSample[] group) => new()
    {
        Frame = group[0].Frame,
        TimeSeconds = group.Average(s => s.TimeSeconds),
        LeftMm = group.Average(s => s.LeftMm),
        RightMm = group.Average(s => s.RightMm),
        AmplitudeMm = group.Average(s => s.AmplitudeMm),
        AmplitudeUncertaintyMm = Math.Sqrt(group.Sum(s => s.AmplitudeUncertaintyMm * s.AmplitudeUncertaintyMm)) / group.Length,
        ThresholdAmplitudeMm = group.Average(s => s.ThresholdAmplitudeMm),
        AmplitudeMrad = group.Average(s => s.AmplitudeMrad),
        Brightness = group.Average(s => s.Brightness),
    };
}
