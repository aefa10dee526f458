using System.Numerics;

namespace StreakTrack.Synthesis.Motion;

/// <summary>A stretch of time with one sinusoidal drive.</summary>
/// <param name="StartSeconds">When it begins.</param>
/// <param name="FrequencyHz">Frequency of the drive.</param>
/// <param name="SteadyMm">Steady response, as the phasor at <paramref name="StartSeconds"/>: deflection = Re(phasor exp(i w (t -
/// start))).</param>
internal readonly record struct DriveSegment(double StartSeconds, double FrequencyHz, Complex SteadyMm);
