namespace StreakTrack.Benchmarks;

/// <summary>Time of one kernel.</summary>
/// <param name="Name">What it does.</param>
/// <param name="MeanMs">Mean, in ms.</param>
/// <param name="StandardDeviationMs">Standard deviation of a single time, in ms.</param>
/// <param name="AllocatedBytes">Memory allocated each time, in B.</param>
internal sealed record MeasuredKernel(string Name, double MeanMs, double StandardDeviationMs, long AllocatedBytes);
