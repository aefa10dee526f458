using StreakTrack.Core.Records;

namespace StreakTrack.Reporting.Figures;

/// <summary>The decay time under other choices of window, estimate, weighting and model, beside the value that is reported.</summary>
public static class RobustnessFigure
{
    private const int RowPx = 22;

    /// <summary>Gap between groups of choices, in rows.</summary>
    private const double GroupGap = 0.6;

    /// <summary>A row whose uncertainty is this many times the usual one says next to nothing and must not set the scale.</summary>
    private const double VagueInUsual = 20;

    /// <summary>Draws one row for each choice, from top to bottom.</summary>
    /// <param name="rows">The choices; the first row is the analysis itself.</param>
    /// <exception cref="ArgumentException">There are no rows.</exception>
    public static Figure Draw(IReadOnlyList<RobustnessRecord> rows)
    {
        if (rows.Count == 0)
            throw new ArgumentException("A robustness figure needs at least one row.", nameof(rows));

        double[] ys = new double[rows.Count];
        for (int i = 1; i < rows.Count; i++)
            ys[i] = ys[i - 1] - 1 - (rows[i].Group == rows[i - 1].Group ? 0 : GroupGap);
        double bottom = ys[^1];
        double[] taus = [.. rows.Select(r => r.TauS ?? double.NaN)];
        double[] lower = [.. rows.Select(r => (r.TauS ?? double.NaN) - (r.TauUncertaintyS ?? double.NaN))];
        double[] upper = [.. rows.Select(r => (r.TauS ?? double.NaN) + (r.TauUncertaintyS ?? double.NaN))];

        Panel panel = new("decay time / s", "", (int)(RowPx * (2 - bottom)) + 66);
        panel.SetYNames([.. rows.Select((r, i) => (ys[i], r.Label))]);
        if (double.IsFinite(lower[0]))
            panel.AddBand([lower[0], upper[0]], [bottom - 1, bottom - 1], [1, 1], FigureRole.Scatter);
        panel.AddUpright(taus[0], FigureRole.Model);
        (double low, double high) = Range(rows, lower, upper);
        panel.AddFlatBars(lower[1..], upper[1..], ys[1..], FigureRole.Data, 1.6f);
        panel.AddPoints(taus[1..], ys[1..], FigureRole.Data, PointKind.Dot, 7);

        // What lies beyond the axis is marked at its end.
        int[] beyond = [.. Enumerable.Range(1, rows.Count - 1).Where(i => taus[i] < low || taus[i] > high)];
        panel.AddPoints(
            [.. beyond.Select(i => taus[i] < low ? low + (0.01 * (high - low)) : high - (0.01 * (high - low)))],
            [.. beyond.Select(i => ys[i])],
            FigureRole.Outlier, PointKind.TriangleUp, 9);
        panel.AddFlatBars(lower[..1], upper[..1], ys[..1], FigureRole.Model, 2f);
        panel.AddPoints(taus[..1], ys[..1], FigureRole.Model, PointKind.Diamond, 10);

        panel.SetX(low, high);
        panel.SetY(bottom - 0.8, 0.8);
        double[] found = [.. taus.Where(double.IsFinite)];
        return FigureDrawing.Draw(
            "robustness",
            "Decay time under other choices",
            FormattableString.Invariant($"Decay time in s for {rows.Count - 1} other choices of window, estimate, weighting and model: ")
                + FormattableString.Invariant(
                    $"{found.Min():0.####} to {found.Max():0.####}; the reported value is {taus[0]:0.####}."),
            "Diamond, line and band: the reported decay time with the standard uncertainty that comes from the scatter of the points. "
                + "Dots: what another choice gives, with its own. "
                + "Choices that share most of their frames are not independent; a drift in one direction matters more than the scatter."
                + (beyond.Length > 0 ? " Triangles at the rim: beyond the axis." : ""),
            panel);
    }

    private static (double Low, double High) Range(IReadOnlyList<RobustnessRecord> rows, double[] lower, double[] upper)
    {
        double[] uncertainties = [.. rows.Select(r => r.TauUncertaintyS ?? double.NaN).Where(double.IsFinite).Order()];
        double vague = uncertainties.Length == 0 ? double.PositiveInfinity : VagueInUsual * uncertainties[uncertainties.Length / 2];
        double[] reach =
        [
            .. Enumerable.Range(0, rows.Count).Where(i => !(rows[i].TauUncertaintyS > vague))
                .SelectMany(i => new[] { lower[i], upper[i], rows[i].TauS ?? double.NaN }).Where(double.IsFinite),
        ];
        double margin = reach.Max() > reach.Min() ? 0.06 * (reach.Max() - reach.Min()) : (0.01 * Math.Abs(reach[0])) + 1e-6;
        return (reach.Min() - margin, reach.Max() + margin);
    }
}
