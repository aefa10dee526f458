namespace StreakTrack.Synthesis.Scenarios;

/// <summary>The surface that the beam falls on. Its coordinates: X along the scale from its zero, Y from the ticked edge into the
/// ruler.</summary>
public sealed record RulerSettings
{
    /// <summary>What it is made of. Default white.</summary>
    public RulerKind Kind { get; init; } = RulerKind.White;

    /// <summary>Length of the scale, in mm, 10 to 5000. Default 300.</summary>
    public double LengthMm { get; init => field = Guard.Between(value, 10, 5000); } = 300;

    /// <summary>Breadth, in mm, 2 to 5000. Default 27.</summary>
    public double BreadthMm { get; init => field = Guard.Between(value, 2, 5000); } = 27;

    /// <summary>Distance between ticks, in mm, 0.1 to 100. Default 1. Every fifth and every tenth is longer.</summary>
    public double TickStepMm { get; init => field = Guard.Between(value, 0.1, 100); } = 1;

    /// <summary>Width of a tick, in mm, 0.01 to 10. Default 0.2.</summary>
    public double TickWidthMm { get; init => field = Guard.Between(value, 0.01, 10); } = 0.2;

    /// <summary>Length of a plain tick, in mm, 0.1 to 100. Default 3.6.</summary>
    public double TickLengthMm { get; init => field = Guard.Between(value, 0.1, 100); } = 3.6;

    /// <summary>Length of every fifth tick, in mm, 0.1 to 100. Default 5.2.</summary>
    public double FifthTickLengthMm { get; init => field = Guard.Between(value, 0.1, 100); } = 5.2;

    /// <summary>Length of every tenth tick, in mm, 0.1 to 100. Default 7.</summary>
    public double TenthTickLengthMm { get; init => field = Guard.Between(value, 0.1, 100); } = 7;

    /// <summary>Height of the digits at every tenth tick, in mm, 0 (none) to 100. Default 3.4. They count tenth ticks.</summary>
    public double DigitHeightMm { get; init => field = Guard.Between(value, 0, 100); } = 3.4;

    /// <summary>Relative unevenness of the surface, 0 to 0.5. Default 0.03.</summary>
    public double Texture { get; init => field = Guard.Between(value, 0, 0.5); } = 0.03;
}
