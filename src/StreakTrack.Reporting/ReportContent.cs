using StreakTrack.Core.Analysis;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Core.Studies;
using StreakTrack.Reporting.Contact;

namespace StreakTrack.Reporting;

/// <summary>All that a report is made of.</summary>
public sealed record ReportContent
{
    /// <summary>The record of the analysis.</summary>
    public required AnalysisRecord Record { get; init; }

    /// <summary>The series that belongs to it.</summary>
    public required AmplitudeSeries Series { get; init; }

    /// <summary>The points that the figures show, where these are fewer than in <see cref="Series"/>; null for the series itself.</summary>
    public AmplitudeSeries? FittedSeries { get; init; }

    /// <summary>The fit, for the figures; null when there is none. The numbers come from the record.</summary>
    public EnvelopeFit? Fit { get; init; }

    /// <summary>The sweep, for the figures; null when the drive was not stepped.</summary>
    public SteppedSweepStudy? Sweep { get; init; }

    /// <summary>Frames for the contact sheet, in the order of the clip; empty without a clip.</summary>
    public IReadOnlyList<ContactPicture> Pictures { get; init; } = [];

    /// <summary>The content for an analysed series.</summary>
    /// <param name="record">Its record.</param>
    /// <param name="series">The series.</param>
    /// <param name="analysis">What was made of it.</param>
    /// <param name="pictures">Frames for the contact sheet; empty without a clip.</param>
    public static ReportContent Of(
        AnalysisRecord record, AmplitudeSeries series, SeriesAnalysis analysis, IReadOnlyList<ContactPicture> pictures) => new()
        {
            Record = record,
            Series = series,
            FittedSeries = analysis.FittedSeries,
            Fit = analysis.Fit,
            Sweep = analysis.Sweep,
            Pictures = pictures,
        };
}
