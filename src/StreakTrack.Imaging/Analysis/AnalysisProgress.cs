namespace StreakTrack.Imaging.Analysis;

/// <summary>How far an analysis has come.</summary>
/// <param name="Stage">What is being done, as a short phrase for people.</param>
/// <param name="Done">Units of the stage done: frames while measuring.</param>
/// <param name="Total">Units in all, where known.</param>
public readonly record struct AnalysisProgress(string Stage, int Done, int? Total);
