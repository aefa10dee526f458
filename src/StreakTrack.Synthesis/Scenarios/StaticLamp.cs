namespace StreakTrack.Synthesis.Scenarios;

/// <summary>A small lamp in the picture, in the colour of the beam.</summary>
public sealed record StaticLamp
{
    /// <summary>Column in the stored picture, as a share of its width, 0 to 1. Default 0.2.</summary>
    public double ColumnShare { get; init => field = Guard.Between(value, 0, 1); } = 0.2;

    /// <summary>Row in the stored picture, as a share of its height, 0 to 1. Default 0.2.</summary>
    public double RowShare { get; init => field = Guard.Between(value, 0, 1); } = 0.2;

    /// <summary>Standard deviation of its image, in px, 0.5 to 500. Default 5.</summary>
    public double SigmaPx { get; init => field = Guard.Between(value, 0.5, 500); } = 5;

    /// <summary>Light in its middle, linear, 1 = full scale, 0 to 100. Default 0.8.</summary>
    public double Level { get; init => field = Guard.Between(value, 0, 100); } = 0.8;
}
