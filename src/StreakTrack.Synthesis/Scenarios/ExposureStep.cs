namespace StreakTrack.Synthesis.Scenarios;

/// <summary>A change of exposure in mid-clip.</summary>
public sealed record ExposureStep
{
    /// <summary>From the first frame that starts at or after this time, in s, 0 to 10 000.</summary>
    public required double TimeSeconds { get; init => field = Guard.Between(value, 0, 10_000); }

    /// <summary>Exposure time from then on, in s, 1e-5 to 1; not longer than a frame.</summary>
    public required double ExposureSeconds { get; init => field = Guard.Between(value, 1e-5, 1); }

    /// <summary>Amplification from then on, beside that of the clip's start, 0.05 to 20. Default 1.</summary>
    public double Gain { get; init => field = Guard.Between(value, 0.05, 20); } = 1;
}
