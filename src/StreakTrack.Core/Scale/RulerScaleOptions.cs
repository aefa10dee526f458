namespace StreakTrack.Core.Scale;

/// <summary>How a scale is fitted to marks.</summary>
public sealed record RulerScaleOptions
{
    /// <summary>The map to use; null (the default) lets the marks decide, by the corrected information criterion.</summary>
    public RulerModel? Model { get; init; }

    /// <summary>Standard deviation of a mark's place along the ruler, in px, that is assumed where the marks are too few to show it: setting a
    /// cursor on a tick a few pixels wide. Above 0, at most 100; 1 by default.</summary>
    public double AssumedScatterPx { get; init; } = 1;

    /// <summary>How the ticks run in the picture; null (the default) if not known: then points are carried to the axis at right angles.</summary>
    public TickDirections? Ticks { get; init; }

    /// <summary>Centre of the picture, about which the lens term counts; null (the default) for the centre of the marks.</summary>
    public PicturePoint? PictureCentre { get; init; }

    /// <summary>Accuracy class of the ruler; none by default.</summary>
    public RulerAccuracyClass AccuracyClass { get; init; } = RulerAccuracyClass.None;

    /// <summary>Chance that a set of good marks has one called doubtful. Between 0 and 0.5; 0.01 by default, shared among the marks.</summary>
    public double DoubtLevel { get; init; } = 0.01;

    internal void Validate()
    {
        if (!(AssumedScatterPx > 0 && AssumedScatterPx <= 100))
            throw new ArgumentOutOfRangeException(nameof(AssumedScatterPx), AssumedScatterPx, "Must be above 0 and at most 100 px.");
        if (!(DoubtLevel > 0 && DoubtLevel < 0.5))
            throw new ArgumentOutOfRangeException(nameof(DoubtLevel), DoubtLevel, "Must lie between 0 and 0.5.");
        if (PictureCentre is { } centre && !(double.IsFinite(centre.UPx) && double.IsFinite(centre.VPx)))
            throw new ArgumentOutOfRangeException(nameof(PictureCentre), centre, "Must be finite.");
    }
}
