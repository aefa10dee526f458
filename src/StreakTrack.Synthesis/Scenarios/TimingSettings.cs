namespace StreakTrack.Synthesis.Scenarios;

/// <summary>When frames are taken. Without jitter and dropped frames the rate is constant.</summary>
public sealed record TimingSettings
{
    /// <summary>Standard deviation of a frame's time about its place in a steady sequence, in s, 0 to 0.01. Default 0.</summary>
    public double JitterSeconds { get; init => field = Guard.Between(value, 0, 0.01); }

    /// <summary>Probability that a frame is missing, 0 to 0.5. Default 0. The first frame is always there.</summary>
    public double DropProbability { get; init => field = Guard.Between(value, 0, 0.5); }

    /// <summary>Probability that a frame shows the picture before it once more, 0 to 0.5. Default 0.</summary>
    public double RepeatProbability { get; init => field = Guard.Between(value, 0, 0.5); }
}
