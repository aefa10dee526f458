using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Studies;

/// <summary>Settings of a resonance study.</summary>
public sealed record ResonanceOptions
{
    /// <summary>
    /// Shape that the results are taken from. Default <see cref="ResponseModel.Exact"/>; for the amplitude shapes the other one is
    /// fitted too and
    /// shown beside it.
    /// </summary>
    public ResponseModel Response { get; init; } = ResponseModel.Exact;

    /// <summary>What lies under the curve. Default nothing.</summary>
    public ResponseBackground Background { get; init; } = ResponseBackground.None;

    /// <summary>Whether the points' uncertainties are taken at their word. Default <see cref="UncertaintyScaling.Auto"/>.</summary>
    public UncertaintyScaling Scaling { get; init; } = UncertaintyScaling.Auto;

    /// <summary>Decay time of the same oscillator from a ring-down, in s; null when not known. Gives a second Q to compare
    /// with.</summary>
    public UncertainValue? TauSeconds { get; init; }

    /// <summary>Unit of the response, for messages. Default mm.</summary>
    public string ResponseUnit { get; init; } = "mm";
}
