using StreakTrack.Core;
using StreakTrack.Core.Studies;
using StreakTrack.Reporting.Figures;

namespace StreakTrack.Reporting.Studies;

/// <summary>
/// The figure of a study over several measurements: points with their uncertainties, curve with its band, residuals below.
/// </summary>
public static class StudyFigure
{
    private const double Coverage95 = 1.959964;

    /// <summary>Even points of a drawn curve.</summary>
    private const int CurvePoints = 400;

    /// <summary>Draws the figure.</summary>
    /// <param name="plot">What to show.</param>
    /// <exception cref="ArgumentException">There are no points.</exception>
    public static Figure Draw(StudyPlot plot)
    {
        if (plot.Points.Count == 0)
            throw new ArgumentException("A figure needs at least one point.", nameof(plot));

        double[] x = [.. plot.Points.Select(p => p.X)];
        double margin = x.Max() > x.Min() ? 0.05 * (x.Max() - x.Min()) : 0.5;
        (double low, double high) = (x.Min() - margin, x.Max() + margin);
        Panel main = MainPanel(plot, low, high);
        string description = FormattableString.Invariant(
            $"{plot.YTitle} against {plot.XTitle}: {plot.Points.Count} points from {x.Min():0.####} to {x.Max():0.####}")
            + (plot.Curve is null ? "." : ", with the fitted curve and the residuals.");
        return plot.Curve is null
            ? FigureDrawing.Draw(plot.Name, plot.Title, description, plot.Caption, main)
            : FigureDrawing.Draw(plot.Name, plot.Title, description, plot.Caption, main, ResidualPanel(plot, plot.Curve, low, high));
    }

    private static Panel MainPanel(StudyPlot plot, double low, double high)
    {
        Panel panel = new(plot.Curve is null ? plot.XTitle : null, plot.YTitle, 380);
        double[] grid = Grid(plot, low, high);
        List<double> reach = [];
        if (plot.Curve is not null)
        {
            UncertainValue[] curve = [.. grid.Select(plot.Curve)];
            double[] values = [.. curve.Select(c => c.Value)];
            if (Array.Exists(curve, c => c.StandardUncertainty > 0))
            {
                panel.AddBand(
                    grid,
                    [.. curve.Select(c => c.Value - (Coverage95 * c.StandardUncertainty))],
                    [.. curve.Select(c => c.Value + (Coverage95 * c.StandardUncertainty))],
                    FigureRole.Band, "95 % band of the curve");
            }

            if (plot.OtherCurve is not null)
                panel.AddLine(grid, [.. grid.Select(plot.OtherCurve)], FigureRole.Second, 1.3f, plot.OtherCurveName);
            panel.AddLine(grid, values, FigureRole.Model, legend: plot.CurveName);
            reach.AddRange(values);
        }

        AddPoints(panel, plot.Points, p => p.Y, "measured");
        reach.AddRange(plot.Points.Select(p => p.Y));
        reach.AddRange(plot.Points.Where(p => p.YUncertainty > 0).SelectMany(p => new[] { p.Y - p.YUncertainty, p.Y + p.YUncertainty }));
        double bottom = reach.Where(double.IsFinite).Min();
        double top = reach.Where(double.IsFinite).Max();
        if (plot.FromZero)
            (bottom, top) = (Math.Min(bottom, 0), Math.Max(top, 0));
        double air = top > bottom ? 0.07 * (top - bottom) : 0.5;
        panel.SetX(low, high);
        panel.SetY(plot.FromZero && bottom == 0 ? 0 : bottom - air, top + air);
        panel.ShowLegend();
        return panel;
    }

    private static Panel ResidualPanel(StudyPlot plot, Func<double, UncertainValue> curve, double low, double high)
    {
        // Relative to the axis title's unit: "amplitude / mm" gives "residual / mm".
        int slash = plot.YTitle.LastIndexOf('/');
        Panel panel = new(plot.XTitle, slash < 0 ? "residual" : "residual " + plot.YTitle[slash..], 200);
        panel.AddLevel(0, FigureRole.Model, 1.4f);
        AddPoints(panel, plot.Points, p => p.Y - curve(p.X).Value, null);
        double rim = plot.Points.Select(p => Math.Abs(p.Y - curve(p.X).Value) + (p.YUncertainty > 0 ? p.YUncertainty : 0))
            .Where(double.IsFinite).DefaultIfEmpty(0).Max();
        panel.SetX(low, high);
        panel.SetY(rim > 0 ? -1.2 * rim : -1, rim > 0 ? 1.2 * rim : 1);
        return panel;
    }

    private static void AddPoints(Panel panel, IReadOnlyList<LinePoint> points, Func<LinePoint, double> height, string? legend)
    {
        LinePoint[] upright = [.. points.Where(p => p.YUncertainty > 0)];
        panel.AddBars(
            [.. upright.Select(p => p.X)],
            [.. upright.Select(p => height(p) - p.YUncertainty)],
            [.. upright.Select(p => height(p) + p.YUncertainty)],
            FigureRole.Data);
        LinePoint[] flat = [.. points.Where(p => p.XUncertainty > 0)];
        panel.AddFlatBars(
            [.. flat.Select(p => p.X - p.XUncertainty)],
            [.. flat.Select(p => p.X + p.XUncertainty)],
            [.. flat.Select(height)],
            FigureRole.Data);
        panel.AddPoints([.. points.Select(p => p.X)], [.. points.Select(height)], FigureRole.Data, PointKind.Dot, 6, legend);
    }

    private static double[] Grid(StudyPlot plot, double low, double high)
    {
        double width = (high - low) / CurvePoints;
        IEnumerable<double> even = Enumerable.Range(0, CurvePoints + 1).Select(i => low + (width * i));
        IEnumerable<double> dense = plot.DenseAt.Where(d => d > low && d < high)
            .SelectMany(d => Enumerable.Range(-20, 41).Select(i => d + (width * i / 10)));
        return [.. even.Concat(dense).Where(v => v >= low && v <= high).Distinct().Order()];
    }
}
