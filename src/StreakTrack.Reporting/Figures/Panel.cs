using ScottPlot;
using ScottPlot.TickGenerators;

namespace StreakTrack.Reporting.Figures;

/// <summary>One coordinate system of a figure, in the house style. Panels of a figure stand above one another and line up at both
/// sides.</summary>
internal sealed class Panel : IDisposable
{
    private const float TextSizePx = 13;
    private const float LeftMarginPx = 76;
    private const float RightMarginPx = 20;
    private const float TopMarginPx = 12;
    private const float BottomMarginPx = 54;
    private const float InnerBottomMarginPx = 14;

    private readonly List<(double X, double Y)> _drawn = [];
    private readonly AxisKind _yKind;
    private readonly float _bottomMarginPx;

    /// <summary>An empty panel.</summary>
    /// <param name="xTitle">Title of the horizontal axis, "time / s"; null for a panel that shares the axis of the one below.</param>
    /// <param name="yTitle">Title of the vertical axis, "amplitude / mm".</param>
    /// <param name="heightPx">Height of the panel with its margins, in px.</param>
    /// <param name="yKind">Division of the vertical axis.</param>
    public Panel(string? xTitle, string yTitle, int heightPx, AxisKind yKind = AxisKind.Linear)
    {
        HeightPx = heightPx;
        _yKind = yKind;
        _ = FigureFont.Typeface;
        Plot.FigureBackground.Color = FigurePalette.Of(FigureRole.Paper);
        Plot.Axes.Right.IsVisible = false;
        Plot.Axes.Top.IsVisible = false;
        Plot.Grid.MajorLineColor = FigurePalette.Of(FigureRole.Faint);
        Plot.Grid.MinorLineWidth = 0;
        Plot.RenderManager.ClearCanvasBeforeEachRender = false;
        _bottomMarginPx = xTitle is null ? InnerBottomMarginPx : BottomMarginPx;
        Plot.Layout.Fixed(new PixelPadding(LeftMarginPx, RightMarginPx, _bottomMarginPx, TopMarginPx));
        // A fixed size keeps the axis titles of all panels in one column, however wide their numbers are.
        Plot.Axes.Left.MinimumSize = LeftMarginPx - 4;
        Plot.Axes.Left.MaximumSize = LeftMarginPx - 4;
        StyleAxis(Plot.Axes.Bottom, xTitle ?? "");
        StyleAxis(Plot.Axes.Left, yTitle);
        if (xTitle is null)
            Plot.Axes.Bottom.TickLabelStyle.IsVisible = false;
        Plot.Axes.Bottom.TickGenerator = new EvenTicks(0.6);
        Plot.Axes.Left.TickGenerator = new EvenTicks(heightPx < 300 ? 0.9 : 0.6);
    }

    /// <summary>Height with margins, in px.</summary>
    public int HeightPx { get; }

    /// <summary>The drawing library's plot.</summary>
    public Plot Plot { get; } = new();

    /// <inheritdoc/>
    public void Dispose() => Plot.Dispose();

    /// <summary>Fills the area between two curves.</summary>
    public void AddBand(
        IReadOnlyList<double> x, IReadOnlyList<double> lower, IReadOnlyList<double> upper, FigureRole role, string? legend = null)
    {
        // A log axis has no place for zero and below: the band then ends at the bottom of the panel.
        double floor = _yKind == AxisKind.Log ? upper.Where(u => u > 0).DefaultIfEmpty(1).Min() * 1e-3 : double.NegativeInfinity;
        List<(double X, double Lower, double Upper)> rows = [];
        for (int i = 0; i < x.Count; i++)
        {
            double low = Map(Math.Max(lower[i], floor));
            double high = Map(upper[i]);
            if (double.IsFinite(x[i]) && double.IsFinite(low) && double.IsFinite(high))
                rows.Add((x[i], low, high));
        }

        if (rows.Count < 2)
            return;
        var band = Plot.Add.FillY(rows);
        band.FillColor = FigurePalette.Of(role);
        band.LineWidth = 0;
        band.MarkerSize = 0;
        band.LegendText = legend ?? "";
    }

    /// <summary>Draws a line through points; points that the axis cannot show break it.</summary>
    public void AddLine(
        IReadOnlyList<double> x, IReadOnlyList<double> y, FigureRole role, float widthPx = 1.8f, string? legend = null)
    {
        List<Coordinates> points = Shown(x, y);
        if (points.Count < 2)
            return;
        var line = Plot.Add.ScatterLine(points);
        line.LineStyle = StyleOf(role, widthPx);
        line.LegendText = legend ?? "";
    }

    /// <summary>Draws marks at points; points that the axis cannot show are left out.</summary>
    public void AddPoints(
        IReadOnlyList<double> x, IReadOnlyList<double> y, FigureRole role, PointKind kind, float sizePx = 5, string? legend = null)
    {
        List<Coordinates> points = Shown(x, y);
        if (points.Count == 0)
            return;
        _drawn.AddRange(points.Select(p => (p.X, p.Y)));
        var marks = Plot.Add.Markers(points, ShapeOf(kind), sizePx, FigurePalette.Of(role));
        marks.MarkerStyle.LineColor = FigurePalette.Of(role);
        marks.MarkerStyle.LineWidth = 1.2f;
        marks.LegendText = legend ?? "";
    }

    /// <summary>Draws vertical bars from lower to upper.</summary>
    public void AddBars(
        IReadOnlyList<double> x, IReadOnlyList<double> lower, IReadOnlyList<double> upper, FigureRole role, float widthPx = 1.2f)
    {
        for (int i = 0; i < x.Count; i++)
        {
            double low = Map(lower[i]);
            double high = Map(upper[i]);
            if (!double.IsFinite(low) || !double.IsFinite(high))
                continue;
            var bar = Plot.Add.Line(x[i], low, x[i], high);
            bar.LineStyle = StyleOf(role, widthPx);
        }
    }

    /// <summary>Draws horizontal bars from lower to upper.</summary>
    public void AddFlatBars(
        IReadOnlyList<double> lower, IReadOnlyList<double> upper, IReadOnlyList<double> y, FigureRole role, float widthPx = 1.2f)
    {
        for (int i = 0; i < y.Count; i++)
        {
            if (!double.IsFinite(lower[i]) || !double.IsFinite(upper[i]))
                continue;
            var bar = Plot.Add.Line(lower[i], Map(y[i]), upper[i], Map(y[i]));
            bar.LineStyle = StyleOf(role, widthPx);
        }
    }

    /// <summary>Draws a line across the panel at a height.</summary>
    public void AddLevel(double y, FigureRole role, float widthPx = 1)
    {
        var line = Plot.Add.HorizontalLine(Map(y), widthPx, FigurePalette.Of(role));
        line.LineStyle = StyleOf(role, widthPx);
        line.EnableAutoscale = false;
    }

    /// <summary>Draws a line from bottom to top at a place of the horizontal axis.</summary>
    public void AddUpright(double x, FigureRole role, string? legend = null)
    {
        var line = Plot.Add.VerticalLine(x, 1, FigurePalette.Of(role));
        line.LineStyle = StyleOf(role, 1.2f);
        line.EnableAutoscale = false;
        line.LegendText = legend ?? "";
    }

    /// <summary>Writes a text beside a point of the panel.</summary>
    public void AddText(string text, double x, double y, FigureRole role, Alignment alignment)
    {
        var label = Plot.Add.Text(text, x, Map(y));
        label.LabelFontName = FigureFont.Name;
        label.LabelFontSize = TextSizePx;
        label.LabelFontColor = FigurePalette.Of(role);
        label.LabelAlignment = alignment;
        label.LabelPadding = 4;
    }

    /// <summary>Sets the horizontal range.</summary>
    public void SetX(double low, double high) => Plot.Axes.SetLimitsX(low, high);

    /// <summary>Sets the vertical range, in the units of the axis title.</summary>
    public void SetY(double low, double high)
    {
        Plot.Axes.SetLimitsY(Map(low), Map(high));
        if (_yKind == AxisKind.Log)
            Plot.Axes.Left.TickGenerator = LogTicks(low, high);
    }

    /// <summary>Names places of the vertical axis instead of numbering it; the margin takes the room that the longest name needs.</summary>
    public void SetYNames(IReadOnlyList<(double Y, string Name)> names)
    {
        NumericManual ticks = new();
        foreach ((double y, string name) in names)
            ticks.AddMajor(y, name);
        Plot.Axes.Left.TickGenerator = ticks;
        Plot.Axes.Left.MajorTickStyle.Length = 0;
        Plot.Axes.Left.FrameLineStyle.Width = 0;
        Plot.Grid.YAxisStyle.IsVisible = false;
        float marginPx = names.Select(n => FigureFont.Measure(n.Name, TextSizePx)).Append(0).Max() + 20;
        Plot.Axes.Left.MaximumSize = marginPx;
        Plot.Layout.Fixed(new PixelPadding(marginPx, RightMarginPx, _bottomMarginPx, TopMarginPx));
    }

    /// <summary>Shows the legend in the corner with the fewest points. Call it after the ranges are set.</summary>
    public void ShowLegend()
    {
        AxisLimits limits = Plot.Axes.GetLimits();
        (Alignment Corner, bool Right, bool Upper)[] corners =
        [
            (Alignment.UpperRight, true, true), (Alignment.UpperLeft, false, true),
            (Alignment.LowerRight, true, false), (Alignment.LowerLeft, false, false),
        ];
        int Crowd((Alignment Corner, bool Right, bool Upper) c) => _drawn.Count(p =>
            (p.X - limits.Left) / limits.HorizontalSpan is double h && (p.Y - limits.Bottom) / limits.VerticalSpan is double v
            && (c.Right ? h > 0.55 : h < 0.45) && (c.Upper ? v > 0.55 : v < 0.45));

        Legend legend = Plot.ShowLegend(corners.MinBy(Crowd).Corner);
        legend.FontName = FigureFont.Name;
        legend.FontSize = TextSizePx;
        legend.FontColor = FigurePalette.Of(FigureRole.Ink);
        legend.BackgroundColor = FigurePalette.Of(FigureRole.Paper);
        legend.OutlineWidth = 0;
        legend.ShadowColor = Colors.Transparent;
        legend.Margin = new PixelPadding(10);
    }

    private double Map(double y) => _yKind == AxisKind.Log ? (y > 0 ? Math.Log10(y) : double.NaN) : y;

    private List<Coordinates> Shown(IReadOnlyList<double> x, IReadOnlyList<double> y)
    {
        List<Coordinates> shown = [];
        for (int i = 0; i < x.Count; i++)
        {
            double mapped = Map(y[i]);
            if (double.IsFinite(x[i]) && double.IsFinite(mapped))
                shown.Add(new Coordinates(x[i], mapped));
        }

        return shown;
    }

    /// <summary>Ticks at 1, 2, …, 9 times every power of ten; those between are labelled when fewer than two powers fit.</summary>
    private static NumericManual LogTicks(double low, double high)
    {
        NumericManual ticks = new();
        bool labelBetween = Math.Log10(high / low) < 2;
        for (int power = (int)Math.Floor(Math.Log10(low)); power <= (int)Math.Ceiling(Math.Log10(high)); power++)
        {
            for (int digit = 1; digit <= 9; digit++)
            {
                double value = digit * Math.Pow(10, power);
                if (!(value >= low * (1 - 1e-9) && value <= high * (1 + 1e-9)))
                    continue;
                if (digit == 1 || (labelBetween && digit is 2 or 5))
                    ticks.AddMajor(Math.Log10(value), EvenTicks.Label(value, Math.Pow(10, power)));
                else
                    ticks.AddMinor(Math.Log10(value));
            }
        }

        return ticks;
    }

    private static void StyleAxis(IAxis axis, string title)
    {
        axis.Label.Text = title;
        axis.Label.Bold = false;
        axis.Label.FontName = FigureFont.Name;
        axis.Label.FontSize = TextSizePx + 1;
        axis.Label.ForeColor = FigurePalette.Of(FigureRole.Ink);
        axis.TickLabelStyle.FontName = FigureFont.Name;
        axis.TickLabelStyle.FontSize = TextSizePx;
        axis.TickLabelStyle.ForeColor = FigurePalette.Of(FigureRole.Ink);
        axis.MajorTickStyle.Color = FigurePalette.Of(FigureRole.Ink);
        axis.MinorTickStyle.Color = FigurePalette.Of(FigureRole.Ink);
        axis.FrameLineStyle.Color = FigurePalette.Of(FigureRole.Ink);
    }

    // Solid lines only: the SVG writer of the drawing library knows no dashes, and complains on standard error about each.
    private static LineStyle StyleOf(FigureRole role, float widthPx) => new(widthPx, FigurePalette.Of(role), LinePattern.Solid);

    private static MarkerShape ShapeOf(PointKind kind) => kind switch
    {
        PointKind.Dot => MarkerShape.FilledCircle,
        PointKind.Circle => MarkerShape.OpenCircle,
        PointKind.Square => MarkerShape.OpenSquare,
        PointKind.Diamond => MarkerShape.FilledDiamond,
        PointKind.TriangleUp => MarkerShape.OpenTriangleUp,
        PointKind.TriangleDown => MarkerShape.OpenTriangleDown,
        _ => MarkerShape.Cross,
    };
}
