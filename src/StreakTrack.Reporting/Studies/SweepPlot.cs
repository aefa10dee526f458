using StreakTrack.Core;
using StreakTrack.Core.Studies;

namespace StreakTrack.Reporting.Studies;

/// <summary>The resonance curve of a sweep within one clip.</summary>
internal static class SweepPlot
{
    /// <summary>The plot; null when no step has an amplitude.</summary>
    public static StudyPlot? Of(SteppedSweepStudy study)
    {
        SweepPlateau[] seen = [.. study.Plateaus.Where(p => double.IsFinite(p.AmplitudeMm))];
        if (seen.Length == 0)
            return null;
        double f0 = study.Fit.Parameter("f0_hz").Value.Value, half = study.Fit.Parameter("linewidth_power_hz").Value.Value / 2;
        return new StudyPlot
        {
            Name = "resonance",
            Title = "Steady amplitude against drive frequency",
            Caption = "Points: the steady amplitude of each step, with what was left of the transient taken off and one standard uncertainty "
                + "(often smaller than the point). Line: the response that belongs to the motion fitted as a whole, not a curve through these points. "
                + "Below: points minus line.",
            XTitle = "drive frequency / Hz",
            YTitle = "amplitude / mm",
            Points = [.. seen.Select(p => new LinePoint(p.FrequencyHz, p.AmplitudeMm, 0, p.AmplitudeUncertaintyMm))],
            Curve = f => new UncertainValue(study.Fit.SteadyMm(f), 0),
            CurveName = "fit of the whole motion",
            DenseAt = [f0, f0 - half, f0 + half],
        };
    }
}
