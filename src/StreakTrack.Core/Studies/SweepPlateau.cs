namespace StreakTrack.Core.Studies;

/// <summary>One step of a sweep: what the oscillator settles at under its drive.</summary>
/// <param name="FrequencyHz">Drive frequency, in Hz.</param>
/// <param name="StartSeconds">When the step began, found in the series, in s.</param>
/// <param name="StartUncertaintySeconds">Its standard uncertainty, in s; NaN for the first step.</param>
/// <param name="EndSeconds">When it ended, in s.</param>
/// <param name="Points">Usable points within it.</param>
/// <param name="AmplitudeMm">Steady amplitude, with what was left of the transient taken off, in mm; NaN without points.</param>
/// <param name="AmplitudeUncertaintyMm">Its standard uncertainty, in mm.</param>
/// <param name="MeanMm">Plain mean over the last third of the step, in mm; NaN without points there.</param>
/// <param name="TransientMm">What is left of the transient at the end of the step, in mm.</param>
/// <param name="IsSettled">Whether that is small beside the steady amplitude.</param>
public sealed record SweepPlateau(
    double FrequencyHz, double StartSeconds, double StartUncertaintySeconds, double EndSeconds, int Points, double AmplitudeMm,
    double AmplitudeUncertaintyMm, double MeanMm, double TransientMm, bool IsSettled);
