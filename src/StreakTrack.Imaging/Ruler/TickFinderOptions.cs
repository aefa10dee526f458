namespace StreakTrack.Imaging.Ruler;

/// <summary>How the ticks between marks are searched.</summary>
public sealed record TickFinderOptions
{
    /// <summary>How far from the line through the marks ticks are looked for, in mm on either side: marks may have been set anywhere along the
    /// ticks or beside them. Above 0, at most 50; 12 by default.</summary>
    public double SearchMm { get; init; } = 12;

    /// <summary>Tick spacings to try, in mm, from the finest: each above 0. By default 1, 2, 5 and 10.</summary>
    public IReadOnlyList<double> StepsMm { get; init; } = [1, 2, 5, 10];

    /// <summary>Smallest standard uncertainty given to a tick, in px: what the camera's and the codec's treatment of fine lines leaves at best.
    /// Above 0, at most 1; 0.02 by default.</summary>
    public double SmallestUncertaintyPx { get; init; } = 0.02;

    internal void Validate()
    {
        if (!(SearchMm > 0 && SearchMm <= 50))
            throw new ArgumentOutOfRangeException(nameof(SearchMm), SearchMm, "Must be above 0 and at most 50 mm.");
        if (!(SmallestUncertaintyPx > 0 && SmallestUncertaintyPx <= 1))
            throw new ArgumentOutOfRangeException(nameof(SmallestUncertaintyPx), SmallestUncertaintyPx, "Must be above 0 and at most 1 px.");
        if (StepsMm.Count == 0 || StepsMm.Any(step => !(step > 0 && step <= 1000)))
            throw new ArgumentOutOfRangeException(nameof(StepsMm), "Must be one or more spacings above 0 mm.");
    }
}
