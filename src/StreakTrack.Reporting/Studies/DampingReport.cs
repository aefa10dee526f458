using StreakTrack.Core.Studies;
using StreakTrack.Reporting.Pages;

namespace StreakTrack.Reporting.Studies;

/// <summary>The report of a damping study: the damping rate 1/τ against a setting.</summary>
public static class DampingReport
{
    /// <summary>Puts the study into the form of a report.</summary>
    /// <param name="study">The study.</param>
    /// <param name="source">Where the runs come from.</param>
    public static StudyReport Of(DampingStudy study, StudySource source)
    {
        DampingTrend? best = study.Trends.Count > 0 ? study.Trends[0] : null;
        string setting = Wording.Axis(study.SettingName);
        return new StudyReport
        {
            Title = "Damping against a setting",
            Source = source,
            Statement = study.Statement,
            Quantities = [.. Quantities(study, best)],
            Plots =
            [
                new StudyPlot
                {
                    Name = "damping",
                    Title = "Damping rate against the setting",
                    Caption = "Points: the mean damping rate 1/τ at each setting, with one standard uncertainty that holds the scatter "
                        + "between runs. Line: the curve that describes them best. Below: measured minus fitted.",
                    XTitle = setting,
                    YTitle = "damping rate / s⁻¹",
                    Points = [.. study.Settings.Select(s => new LinePoint(s.Setting, s.RatePerS.Value, 0, s.RatePerS.StandardUncertainty))],
                    Curve = best is null ? null : best.At,
                    CurveName = best is null ? "" : NameOf(best.Model),
                },
            ],
            Tables =
            [
                Settings(study, setting), Runs(study, setting),
                .. best is null ? [] : new[] { StudyTables.Parameters($"Parameters of the curve: {NameOf(best.Model)}", best.Parameters) },
                .. study.Trends.Count > 1 ? new[] { Trends(study) } : [],
            ],
            Method = [Method(study)],
            Findings = study.Findings,
        };
    }

    private static IEnumerable<StudyQuantity> Quantities(DampingStudy study, DampingTrend? best)
    {
        if (best is null)
        {
            return study.Settings.Select(s => new StudyQuantity(
                $"damping rate at {Numbers.Significant(s.Setting, 6)}", "1/s", s.RatePerS));
        }

        return best.Parameters.Select(p => new StudyQuantity(p.Meaning, Wording.Column(p.Name).Unit, p.Value, p.Profile95));
    }

    private static StudyTable Settings(DampingStudy study, string setting) => new(
        "The settings, runs at one setting taken together",
        [setting, "Runs", "1/τ / s⁻¹", "Scatter between runs / s⁻¹", "τ / s", "Q"],
        [
            .. study.Settings.Select(s => new[]
            {
                Numbers.Significant(s.Setting, 6), Numbers.Count(s.Runs),
                Numbers.PlusMinus(s.RatePerS.Value, s.RatePerS.StandardUncertainty),
                Numbers.Significant(s.ScatterPerS, 2), Numbers.PlusMinus(s.TauSeconds.Value, s.TauSeconds.StandardUncertainty),
                s.QualityFactor is { } q ? Numbers.PlusMinus(q.Value, q.StandardUncertainty) : "–",
            }),
        ]);

    private static StudyTable Runs(DampingStudy study, string setting) => new(
        "The runs",
        [setting, "τ / s", "Frequency / Hz"],
        [
            .. study.Runs.Select(r => new[]
            {
                Numbers.Significant(r.Setting, 6), Numbers.PlusMinus(r.TauSeconds, r.TauUncertaintySeconds),
                Numbers.Significant(r.FrequencyHz, 6),
            }),
        ]);

    private static StudyTable Trends(DampingStudy study) => new(
        "Curves tried, the best first",
        ["Curve", "Chi-square", "Degrees of freedom", "ΔAICc"],
        [
            .. study.Trends.Select(t => new[]
            {
                NameOf(t.Model), Numbers.Significant(t.ChiSquare, 3), Numbers.Count(t.DegreesOfFreedom),
                Numbers.Fixed(t.Aicc - study.Trends.Min(o => o.Aicc), 1),
            }),
        ])
    {
        TextColumns = 1,
    };

    private static string Method(DampingStudy study) =>
        "The damping rate of a linear oscillator is 1/τ, and rates of several causes add up. "
        + "Runs at one setting were averaged with their weights. "
        + (double.IsFinite(study.BetweenRunDeviationPerS)
            ? "Beyond what the decays' own uncertainties explain, runs at one setting scatter by "
                + $"{Numbers.Significant(study.BetweenRunDeviationPerS, 2)} s⁻¹."
            : "No setting was repeated, so the scatter between runs is not known.");

    private static string NameOf(string trend) => trend switch
    {
        "constant" => "constant",
        "line" => "straight line",
        "power-law" => "constant and power of the setting",
        _ => trend,
    };
}
