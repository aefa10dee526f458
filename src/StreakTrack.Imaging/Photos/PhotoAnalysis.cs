using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Photos;

/// <summary>All that one analysis of photographs brought forth.</summary>
/// <param name="Record">The record: facts, settings and results.</param>
/// <param name="Scale">The ruler's scale.</param>
/// <param name="Readings">What was measured in each photograph, in px of the first one.</param>
/// <param name="Series">Amplitudes; a photograph stands for a frame, and its time is its number.</param>
/// <param name="Pictures">Pictures of the band in the photographs, as many as a page can show.</param>
public sealed record PhotoAnalysis(
    AnalysisRecord Record, RulerScale Scale, IReadOnlyList<StreakReading> Readings, AmplitudeSeries Series,
    IReadOnlyList<StreakPicture> Pictures);
