using StreakTrack.Core.Analysis;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Analysis;

/// <summary>All that one analysis of a clip brought forth.</summary>
/// <param name="Record">The record: facts, settings and results.</param>
/// <param name="Scale">The ruler's scale.</param>
/// <param name="Measurement">The readings in pixels, with pictures for the contact sheet.</param>
/// <param name="Series">Amplitude against time.</param>
/// <param name="SeriesAnalysis">The fit and what follows from it.</param>
public sealed record ClipAnalysis(
    AnalysisRecord Record, RulerScale Scale, StreakMeasurement Measurement, AmplitudeSeries Series, SeriesAnalysis SeriesAnalysis);
