namespace StreakTrack.Reporting.Figures;

/// <summary>The decay time under other choices of window, estimate and weighting, beside the value that is reported.</summary>
public static class RobustnessFigure
{
    private const int RowPx = 22;

    /// <summary>Draws one row for each choice, in groups.</summary>
    /// <param name="rows">The choices in the order to draw, rows of one group together.</param>
    /// <param name="reportedSeconds">The reported decay time, in s.</param>
    /// <param name="reportedUncertaintySeconds">Its standard uncertainty, in s; NaN when unknown.</param>
    /// <exception cref="ArgumentException">There are no rows.</exception>
    public static Figure Draw(IReadOnlyList<RobustnessRow> rows, double reportedSeconds, double reportedUncertaintySeconds)
    {
        if (rows.Count == 0)
            throw new ArgumentException("A robustness figure needs at least one row.", nameof(rows));

        // Rows are counted from the top, with half a row of air between groups.
        List<(double Y, string Name)> names = [];
        double y = 0;
        for (int i = 0; i < rows.Count; i++)
        {
            if (i > 0)
                y -= rows[i].Group == rows[i - 1].Group ? 1 : 1.6;
            names.Add((y, $"{rows[i].Group}: {rows[i].Choice}"));
        }

        double[] ys = [.. names.Select(n => n.Y)];
        double[] taus = [.. rows.Select(r => r.TauSeconds)];
        double[] lower = [.. rows.Select(r => r.TauSeconds - r.UncertaintySeconds)];
        double[] upper = [.. rows.Select(r => r.TauSeconds + r.UncertaintySeconds)];
        double[] band = [reportedSeconds - reportedUncertaintySeconds, reportedSeconds + reportedUncertaintySeconds];

        Panel panel = new("decay time / s", "", (int)(RowPx * (2 - y)) + 66);
        panel.SetYNames(names);
        if (band.All(double.IsFinite))
            panel.AddBand(band, [y - 1, y - 1], [1, 1], FigureRole.Scatter);
        panel.AddUpright(reportedSeconds, FigureRole.Model);
        panel.AddFlatBars(lower, upper, ys, FigureRole.Data, 1.6f);
        panel.AddPoints(taus, ys, FigureRole.Data, PointKind.Dot, 7);

        double[] reach = [.. lower.Concat(upper).Concat(taus).Concat(band).Append(reportedSeconds).Where(double.IsFinite)];
        double margin = reach.Max() > reach.Min() ? 0.06 * (reach.Max() - reach.Min()) : 0.01 * Math.Abs(reportedSeconds) + 1e-6;
        panel.SetX(reach.Min() - margin, reach.Max() + margin);
        panel.SetY(y - 0.8, 0.8);
        return FigureDrawing.Draw(
            "robustness",
            "Decay time under other choices",
            FormattableString.Invariant(
                $"Decay time in s for {rows.Count} other choices of window, estimate and weighting: ")
                + FormattableString.Invariant(
                    $"{taus.Min():0.####} to {taus.Max():0.####}; the reported value is {reportedSeconds:0.####}."),
            "Points: the decay time that another choice gives, with one standard uncertainty. "
                + "Line and band: the reported value with its own. Choices that share most of their frames are not independent; "
                + "a drift in one direction matters more than the scatter.",
            panel);
    }
}
