namespace StreakTrack.Synthesis.Scenarios;

/// <summary>How far out of focus the camera is at one time of the clip; between such points the blur goes evenly, and before the first and
/// after the last it stays.</summary>
public sealed record FocusPoint
{
    /// <summary>Time, in s, 0 to 10 000.</summary>
    public required double TimeSeconds { get; init => field = Guard.Between(value, 0, 10_000); }

    /// <summary>Standard deviation of the blur that the spot then has beside that of a camera in focus, in px, 0 to 100.</summary>
    public required double BlurSigmaPx { get; init => field = Guard.Between(value, 0, 100); }
}
