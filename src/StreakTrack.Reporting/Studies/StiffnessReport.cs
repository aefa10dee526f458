using StreakTrack.Core.Studies;
using StreakTrack.Reporting.Pages;

namespace StreakTrack.Reporting.Studies;

/// <summary>The report of a stiffness study: the square of the frequency against a coil current.</summary>
public static class StiffnessReport
{
    /// <summary>Puts the study into the form of a report.</summary>
    /// <param name="study">The study.</param>
    /// <param name="source">Where the points come from.</param>
    public static StudyReport Of(StiffnessStudy study, StudySource source) => new()
    {
        Title = "Stiffness against coil current",
        Source = source,
        Statement = study.Statement,
        Quantities = [.. Quantities(study)],
        Plots =
        [
            new StudyPlot
            {
                Name = "stiffness",
                Title = "Frequency squared against coil current",
                Caption = "Points: the measured frequencies, squared, with one standard uncertainty in both directions where it is known. "
                    + "Line: the fitted straight line. Below: measured minus fitted.",
                XTitle = "coil current / A",
                YTitle = "frequency squared / Hz²",
                Points = [.. study.Points.Select(Squared)],
                Curve = study.Line.At,
                CurveName = "straight line",
                FromZero = false,
            },
        ],
        Tables = [Points(study)],
        Method =
        [
            "For a body of moment of inertia J on a wire of torsion constant k, with a coil that adds stiffness in proportion to its "
                + "current I, the square of the frequency is a straight line in I.",
            "The line was fitted with the uncertainties of both variables (D. York and others, Am. J. Phys. 72 (2004) 367). "
                + (study.Line.IsScaled
                    ? "The uncertainties of the results come from the scatter of the points about the line."
                    : "The uncertainties of the results come from those stated for the points.")
                + (double.IsFinite(study.Line.ChiSquareProbability)
                    ? $" Chi-square is {Numbers.Significant(study.Line.ChiSquare, 3)} on {study.Line.DegreesOfFreedom} degrees of freedom."
                    : ""),
        ],
        Findings = study.Findings,
    };

    private static LinePoint Squared(StiffnessPoint p) => new(
        p.CurrentA, p.FrequencyHz * p.FrequencyHz, p.CurrentUncertaintyA, 2 * p.FrequencyHz * p.FrequencyUncertaintyHz);

    private static IEnumerable<StudyQuantity> Quantities(StiffnessStudy study)
    {
        StraightLine line = study.Line;
        yield return new StudyQuantity("change of the frequency squared with the current", "Hz²/A", line.Slope, line.SlopeInterval());
        yield return new StudyQuantity("frequency squared without current", "Hz²", line.Intercept, line.InterceptInterval());
        if (double.IsFinite(study.FrequencyAtZeroCurrentHz.Value))
            yield return new StudyQuantity("frequency without current", "Hz", study.FrequencyAtZeroCurrentHz);
        yield return new StudyQuantity("stiffness that the current adds, over that of the wire", "1/A", study.StiffnessRatioPerA);
        if (double.IsFinite(study.ZeroStiffnessCurrentA.Value))
        {
            yield return new StudyQuantity("current at which the restoring torque vanishes", "A", study.ZeroStiffnessCurrentA,
                study.ZeroStiffnessInterval95);
        }

        if (study.WireStiffnessNmPerRad is { } wire)
            yield return new StudyQuantity("torsion constant of the wire", "N m/rad", wire);
        if (study.CoilStiffnessNmPerRadA is { } coil)
            yield return new StudyQuantity("torsion constant that the coil adds", "N m/(rad A)", coil);
    }

    private static StudyTable Points(StiffnessStudy study) => StudyTables.Numbers(
        "The points",
        ("Current / A", [.. study.Points.Select(p => p.CurrentA)], 6),
        ("Standard uncertainty / A", [.. study.Points.Select(p => p.CurrentUncertaintyA)], 2),
        ("Frequency / Hz", [.. study.Points.Select(p => p.FrequencyHz)], 7),
        ("Standard uncertainty / Hz", [.. study.Points.Select(p => p.FrequencyUncertaintyHz)], 2),
        ("Squared, minus line / Hz²", study.Line.Residuals, 2));
}
