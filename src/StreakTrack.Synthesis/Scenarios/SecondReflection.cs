namespace StreakTrack.Synthesis.Scenarios;

/// <summary>A second spot that moves with the first.</summary>
public sealed record SecondReflection
{
    /// <summary>Its light beside that of the main beam, 0 to 1. Default 0.08.</summary>
    public double RelativeLevel { get; init => field = Guard.Between(value, 0, 1); } = 0.08;

    /// <summary>Where it rests, along the scale from the main beam, in mm, -1000 to 1000. Default 14.</summary>
    public double OffsetAlongMm { get; init => field = Guard.Between(value, -1000, 1000); } = 14;

    /// <summary>Where it lies, across the scale from the main beam, in mm, -1000 to 1000. Default 5.</summary>
    public double OffsetAcrossMm { get; init => field = Guard.Between(value, -1000, 1000); } = 5;

    /// <summary>Its swing beside that of the main beam, 0 (it stands still) to 2. Default 1.</summary>
    public double RelativeAmplitude { get; init => field = Guard.Between(value, 0, 2); } = 1;
}
