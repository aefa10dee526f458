namespace StreakTrack.Synthesis.Scenarios;

/// <summary>Somebody who walks, or reaches with a hand, between camera and ruler, from the picture's left to its right.</summary>
public sealed record PasserSettings
{
    /// <summary>When the middle of the passer is in the middle of the picture, in s, -1000 to 10 000. Default 3.</summary>
    public double TimeSeconds { get; init => field = Guard.Between(value, -1000, 10_000); } = 3;

    /// <summary>Time in which the passer moves by the picture's width, in s, 0.02 to 1000. Default 1.5.</summary>
    public double CrossingSeconds { get; init => field = Guard.Between(value, 0.02, 1000); } = 1.5;

    /// <summary>Breadth, as a share of the picture's width, 0.001 to 2. Default 0.2.</summary>
    public double WidthShare { get; init => field = Guard.Between(value, 0.001, 2); } = 0.2;

    /// <summary>The rows covered, from the top down, as a share of the picture's height, 0 to 1. Default 1.</summary>
    public double RowShare { get; init => field = Guard.Between(value, 0, 1); } = 1;

    /// <summary>Standard deviation of the edges' blur, out of focus as they are, in px, 0.5 to 500. Default 12.</summary>
    public double EdgeSigmaPx { get; init => field = Guard.Between(value, 0.5, 500); } = 12;

    /// <summary>Reflectance of the clothes, 0 to 1. Default 0.12.</summary>
    public double Reflectance { get; init => field = Guard.Between(value, 0, 1); } = 0.12;

    /// <summary>Share of the room light that the passer keeps from the ruler when in the middle of the picture, 0 to 0.9; at the
    /// picture's edges it is a tenth of that. Default 0.15.</summary>
    public double ShadowShare { get; init => field = Guard.Between(value, 0, 0.9); } = 0.15;
}
