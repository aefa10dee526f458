using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Reporting.Figures;
using StreakTrack.Reporting.Studies;

namespace StreakTrack.Reporting;

/// <summary>Which figures a report has.</summary>
internal static class ReportFigures
{
    /// <summary>The names of all figures that a report can have.</summary>
    public static IReadOnlyList<string> Names { get; } = ["amplitude", "amplitude-log", "calibration", "estimates", "robustness", "resonance"];

    /// <summary>Draws the figures for which there are data.</summary>
    public static IReadOnlyList<Figure> Draw(ReportContent content)
    {
        List<Func<Figure>> figures = [];
        AmplitudeSeries series = content.FittedSeries ?? content.Series;
        if (series.Any(s => double.IsFinite(s.AmplitudeMm)))
        {
            figures.Add(() => content.Sweep is { } sweep ? AmplitudeFigure.DrawSweep(series, sweep.Fit) : AmplitudeFigure.DrawLinear(series, content.Fit));
            if (content.Sweep is null)
                figures.Add(() => AmplitudeFigure.DrawLog(series, content.Fit));
        }

        if (content.Sweep is { } study && SweepPlot.Of(study) is StudyPlot plot)
            figures.Add(() => StudyFigure.Draw(plot));

        IReadOnlyList<MarkRecord> marks = content.Record.Marks;
        if (content.Record.Result.Scale is ScaleRecord scale && scale.ResidualsMm.Count == marks.Count && marks.Count > 2)
            figures.Add(() => CalibrationFigure.Draw(marks, scale.ResidualsMm));
        if (series.Any(s => double.IsFinite(s.AmplitudeMm) && double.IsFinite(s.ThresholdAmplitudeMm)))
            figures.Add(() => EstimatesFigure.Draw(series));
        if (content.Record.Result.Robustness is { Count: > 1 } robustness)
            figures.Add(() => RobustnessFigure.Draw(robustness));

        // Drawing and packing the pictures takes most of the time that a report takes, and figures know nothing of each other.
        return [.. figures.AsParallel().AsOrdered().Select(draw => draw())];
    }
}
