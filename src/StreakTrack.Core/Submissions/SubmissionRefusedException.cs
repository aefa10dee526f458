namespace StreakTrack.Core.Submissions;

/// <summary>A submission holds something that is not opened.</summary>
/// <param name="problem">What, without a full stop.</param>
public sealed class SubmissionRefusedException(string problem) : Exception(problem);
