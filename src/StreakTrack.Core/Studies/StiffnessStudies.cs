using StreakTrack.Core.Findings;
using StreakTrack.Core.Tables;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Studies;

/// <summary>Finds how the torsional stiffness depends on a coil current.</summary>
public static class StiffnessStudies
{
    /// <summary>
    /// Reads the points of a table with the columns <c>current_a</c> and <c>frequency_hz</c> and, where known, their standard
    /// uncertainties
    /// <c>current_u_a</c> and <c>frequency_u_hz</c>.
    /// </summary>
    /// <param name="table">The table.</param>
    /// <exception cref="UnusableInputException">A column is missing or a cell is no number; the message names the line.</exception>
    public static IReadOnlyList<StiffnessPoint> PointsFrom(CsvTable table)
    {
        int current = table.Require("current_a", "the coil current in A");
        int frequency = table.Require("frequency_hz", "the resonance frequency in Hz");
        int currentU = table.IndexOf("current_u_a");
        int frequencyU = table.IndexOf("frequency_u_hz");
        var points = new StiffnessPoint[table.RowCount];
        for (int row = 0; row < points.Length; row++)
        {
            double hz = table.RequiredNumber(row, frequency);
            if (!(hz > 0))
                throw new UnusableInputException(table.NameOfRow(row), "the frequency is not positive", "Correct it or delete the row.");
            double u = table.Uncertainty(row, currentU);
            points[row] = new StiffnessPoint(
                table.RequiredNumber(row, current), hz, double.IsNaN(u) ? 0 : u, table.Uncertainty(row, frequencyU));
        }

        return points;
    }

    /// <summary>Runs the study.</summary>
    /// <param name="points">At least three points at two or more currents.</param>
    /// <param name="options">Settings; null for the defaults.</param>
    /// <param name="subject">What messages call the data.</param>
    /// <exception cref="UnusableInputException">The points do not determine a line; see <see cref="StraightLineFitter.Fit"/>.</exception>
    /// <exception cref="ArgumentOutOfRangeException">The moment of inertia is not positive.</exception>
    public static StiffnessStudy Run(
        IReadOnlyList<StiffnessPoint> points, StiffnessOptions? options = null, string subject = "the points")
    {
        options ??= new StiffnessOptions();
        if (options.MomentOfInertiaKgM2 is UncertainValue inertia && !(inertia.Value > 0 && double.IsFinite(inertia.Value)))
            throw new ArgumentOutOfRangeException(nameof(options), inertia.Value, "The moment of inertia must be positive.");
        for (int i = 0; i < points.Count; i++)
        {
            if (!(points[i].FrequencyHz > 0 && Magnitude.IsUsable(points[i].FrequencyHz)))
            {
                throw new UnusableInputException($"{subject}, point {i + 1}", "the frequency is not positive or out of all range",
                    "Leave the point out.");
            }
        }

        // u(f²) = 2 f u(f).
        StraightLine line = StraightLineFitter.Fit(
            [
                .. points.Select(p => new LinePoint(
                    p.CurrentA, p.FrequencyHz * p.FrequencyHz, p.CurrentUncertaintyA, 2 * p.FrequencyHz * p.FrequencyUncertaintyHz)),
            ],
            new StraightLineOptions { Scaling = options.Scaling }, subject);

        double a = line.Intercept.Value;
        double root = Math.Sqrt(a);
        double ratio = line.Slope.Value / a;
        double ratioVariance = (Square(line.Slope.StandardUncertainty) + Square(ratio * line.Intercept.StandardUncertainty)
            - (2 * ratio * line.Covariance)) / Square(a);
        var findings = new List<Finding>(line.Findings);
        CoverageInterval slope = line.SlopeInterval();
        bool effect = !slope.Contains(0);
        if (!effect)
        {
            findings.Add(FindingKinds.NoEffectSeen.With(
                $"The slope, {Notation.PlusMinus(line.Slope, "Hz²/A")}, is compatible with zero: no effect of the current is established."));
        }

        if (!(a > 0))
        {
            findings.Add(FindingKinds.NegativeIntercept.With(
                $"The line gives f0² = {Notation.PlusMinus(line.Intercept, "Hz²")} without current, which no oscillator can have."));
        }

        CoverageInterval zero = line.ZeroCrossingInterval();
        string statement = $"f0² = {Notation.PlusMinus(line.Intercept, "Hz²")} + {Notation.PlusMinus(line.Slope, "Hz²/A")} · I"
            + (effect ? $"; the restoring torque would vanish at {Notation.Concise(line.ZeroCrossing, "A")}." : ".");
        return new StiffnessStudy
        {
            Points = [.. points],
            Line = line,
            FrequencyAtZeroCurrentHz = new UncertainValue(root, line.Intercept.StandardUncertainty / (2 * root)),
            StiffnessRatioPerA = new UncertainValue(ratio, Math.Sqrt(Math.Max(0, ratioVariance))),
            ZeroStiffnessCurrentA = line.ZeroCrossing,
            ZeroStiffnessInterval95 = zero,
            WireStiffnessNmPerRad = Stiffness(line.Intercept, options.MomentOfInertiaKgM2),
            CoilStiffnessNmPerRadA = Stiffness(line.Slope, options.MomentOfInertiaKgM2),
            Statement = statement,
            Findings = [.. findings.OrderByDescending(f => f.Severity)],
        };
    }

    /// <summary>4 pi² J times a squared frequency.</summary>
    private static UncertainValue? Stiffness(UncertainValue squaredHz, UncertainValue? inertia)
    {
        if (inertia is not UncertainValue j)
            return null;
        const double factor = 4 * Math.PI * Math.PI;
        double first = j.Value * squaredHz.StandardUncertainty;
        double second = squaredHz.Value * j.StandardUncertainty;
        return new UncertainValue(factor * j.Value * squaredHz.Value, factor * Math.Sqrt((first * first) + (second * second)));
    }

    private static double Square(double x) => x * x;
}
