using StreakTrack.Core.Fitting;
using StreakTrack.Core.Series;
using StreakTrack.Core.Studies;

namespace StreakTrack.Reporting.Figures;

/// <summary>Amplitude against time with the fit, and the residuals below: on an even axis, and on one of powers of ten.</summary>
public static class AmplitudeFigure
{
    /// <summary>Coverage factor of the drawn bands: 95 % of a normal distribution.</summary>
    private const double Coverage95 = 1.959964;

    /// <summary>Residuals further out than this many times their usual size are drawn at the rim, so that one stray frame does not
    /// flatten all others.</summary>
    private const double RimInSigma = 6;

    /// <summary>The figure on an even axis, residuals in mm.</summary>
    /// <param name="samples">The series; frames without an amplitude are not drawn.</param>
    /// <param name="fit">The fit; null when there is none. One that did not converge is not drawn.</param>
    public static Figure DrawLinear(IReadOnlyList<AmplitudeSample> samples, EnvelopeFit? fit) => DrawLinear(samples, FittedCurve.From(fit));

    /// <summary>The same for a drive that is stepped through resonance.</summary>
    /// <param name="samples">The series; frames without an amplitude are not drawn.</param>
    /// <param name="fit">The fit.</param>
    public static Figure DrawSweep(IReadOnlyList<AmplitudeSample> samples, SweepFit fit) => DrawLinear(samples, FittedCurve.From(fit));

    private static Figure DrawLinear(IReadOnlyList<AmplitudeSample> samples, FittedCurve? curve)
    {
        Points points = Points.Sort(samples, curve);
        Panel main = MainPanel(points, curve, AxisKind.Linear);
        string caption = Caption(points, curve) + (curve is null ? "" : " Below: measured amplitude minus fitted curve.");
        const string title = "Amplitude against time";
        string description = Describe(points, curve, "on an even axis");
        return curve is null
            ? FigureDrawing.Draw("amplitude", title, description, caption, main)
            : FigureDrawing.Draw("amplitude", title, description, caption, main, ResidualPanel(points, curve, normalised: false));
    }

    /// <summary>The figure on an axis of powers of ten, where an exponential is a straight line; residuals divided by the frames' own
    /// uncertainties where these are known.</summary>
    /// <param name="samples">The series; frames without an amplitude, or with one not above zero, are not drawn.</param>
    /// <param name="fit">The fit; null when there is none. One that did not converge is not drawn.</param>
    public static Figure DrawLog(IReadOnlyList<AmplitudeSample> samples, EnvelopeFit? fit)
    {
        FittedCurve? curve = FittedCurve.From(fit);
        Points points = Points.Sort(samples, curve);
        Panel main = MainPanel(points, curve, AxisKind.Log);
        const string title = "Amplitude against time, logarithmic axis";
        bool weighted = curve is not null && HasWeights(curve);
        string caption = "As before, on a logarithmic axis: a single exponential is a straight line here."
            + (weighted ? " Below: residuals divided by each frame's own standard uncertainty; 95 % should lie in the pale band." : "");
        string description = Describe(points, curve, "on a logarithmic axis");
        return weighted
            ? FigureDrawing.Draw("amplitude-log", title, description, caption, main, ResidualPanel(points, curve!, normalised: true))
            : FigureDrawing.Draw("amplitude-log", title, description, caption, main);
    }

    private static Panel MainPanel(Points points, FittedCurve? curve, AxisKind kind)
    {
        bool alone = curve is null || (kind == AxisKind.Log && !HasWeights(curve));
        Panel panel = new(alone ? "time / s" : null, "amplitude / mm", 380, kind);
        if (curve is not null)
        {
            double[] half = [.. curve.UncertaintiesMm.Select(u => Coverage95 * Math.Sqrt((double.IsFinite(u) ? u * u : 0)
                + curve.ResidualRmsMm * curve.ResidualRmsMm))];
            AddBand(panel, curve, half, FigureRole.Scatter, "95 % of single frames");
            if (curve.UncertaintiesMm.Any(double.IsFinite))
                AddBand(panel, curve, [.. curve.UncertaintiesMm.Select(u => Coverage95 * u)], FigureRole.Band, "95 % band of the curve");
        }

        if (curve?.SwitchTimeSeconds is double t0)
            panel.AddUpright(t0, FigureRole.Muted, "drive switched");
        foreach (PointGroup group in points.Groups)
            panel.AddPoints(group.Times, group.AmplitudesMm, group.Role, group.Kind, group.SizePx, group.Legend);
        if (curve is not null)
            panel.AddLine(curve.TimesSeconds, curve.AmplitudesMm, FigureRole.Model, 1.5f, "fit");

        SetRanges(panel, points, curve, kind);
        panel.ShowLegend();
        return panel;
    }

    private static bool HasWeights(FittedCurve curve) => curve.Residuals.Any(r => double.IsFinite(r.Normalised));

    private static void AddBand(Panel panel, FittedCurve curve, double[] half, FigureRole role, string legend) => panel.AddBand(
        curve.TimesSeconds,
        [.. curve.AmplitudesMm.Zip(half, (a, h) => a - h)],
        [.. curve.AmplitudesMm.Zip(half, (a, h) => a + h)],
        role, legend);

    private static void SetRanges(Panel panel, Points points, FittedCurve? curve, AxisKind kind)
    {
        (double start, double end) = points.TimeRange;
        panel.SetX(start, end);
        double[] amplitudes = [.. points.Groups.SelectMany(g => g.AmplitudesMm).Concat(curve?.AmplitudesMm ?? [])];
        if (kind == AxisKind.Linear)
        {
            double top = amplitudes.Where(double.IsFinite).DefaultIfEmpty(1).Max();
            panel.SetY(Math.Min(0, 1.08 * amplitudes.Where(double.IsFinite).DefaultIfEmpty(0).Min()), 1.08 * (top > 0 ? top : 1));
            return;
        }

        double[] shown = [.. amplitudes.Where(a => a > 0 && double.IsFinite(a))];
        double high = shown.DefaultIfEmpty(1).Max();
        double low = Math.Max(shown.DefaultIfEmpty(0.1).Min(), high * 1e-4);
        panel.SetY(low / 1.25, high * 1.25);
    }

    private static Panel ResidualPanel(Points points, FittedCurve curve, bool normalised)
    {
        Panel panel = new("time / s", normalised ? "residual / uncertainty" : "residual / mm", 210);
        (double Time, double Value, bool Outlier)[] rows =
        [
            .. curve.Residuals.Select(r => (r.TimeSeconds, Value: normalised ? r.Normalised : r.ResidualMm, r.Outlier))
                .Where(r => double.IsFinite(r.Value)),
        ];
        double[] sizes = [.. rows.Select(r => Math.Abs(r.Value)).Order()];

        // The median of the absolute values is 0.6745 sigma for a normal distribution, and stray frames do not move it.
        double sigma = sizes.Length == 0 ? 0 : sizes[sizes.Length / 2] / 0.6745;
        double rim = sigma > 0 ? Math.Min(1.25 * sizes[^1], RimInSigma * sigma) : 1;
        (double start, double end) = points.TimeRange;
        double half = normalised ? Coverage95 : Coverage95 * curve.ResidualRmsMm;
        rim = Math.Max(rim, 1.2 * half);
        panel.AddBand([start, end], [-half, -half], [half, half], FigureRole.Scatter);
        panel.AddLevel(0, FigureRole.Model, widthPx: 1.4f);

        void Add(IEnumerable<(double Time, double Value, bool Outlier)> chosen, FigureRole role, PointKind kind, float sizePx)
        {
            (double Time, double Value, bool Outlier)[] list = [.. chosen];
            double[] shown = [.. list.Select(r => Math.Clamp(r.Value, -0.9 * rim, 0.9 * rim))];
            panel.AddPoints([.. list.Select(r => r.Time)], shown, role, kind, sizePx);
        }

        Add(rows.Where(r => Math.Abs(r.Value) <= 0.95 * rim && !r.Outlier), FigureRole.Data, PointKind.Dot, 4);
        Add(rows.Where(r => Math.Abs(r.Value) <= 0.95 * rim && r.Outlier), FigureRole.Outlier, PointKind.TriangleUp, 9);
        Add(rows.Where(r => r.Value > 0.95 * rim), FigureRole.Outlier, PointKind.TriangleUp, 9);
        Add(rows.Where(r => r.Value < -0.95 * rim), FigureRole.Outlier, PointKind.TriangleDown, 9);
        panel.SetX(start, end);
        panel.SetY(-rim, rim);
        return panel;
    }

    private static string Caption(Points points, FittedCurve? curve)
    {
        List<string> parts = ["Each point is one frame."];
        if (curve is not null)
            parts.Add("Line: the fit; pale band: where 95 % of single frames are expected"
                + (curve.UncertaintiesMm.Any(double.IsFinite) ? "; dark band: the 95 % band of the curve itself (often narrower than the line)." : "."));
        if (points.Groups.Any(g => g.Role == FigureRole.LeftOut))
            parts.Add("Open circles were not used in the fit.");
        if (points.Groups.Any(g => g.Role == FigureRole.Second))
            parts.Add("Squares carry a flag and were used.");
        if (points.Groups.Any(g => g.Role == FigureRole.Outlier))
            parts.Add("Triangles lie far off the curve.");
        return string.Join(' ', parts);
    }

    private static string Describe(Points points, FittedCurve? curve, string axis)
    {
        int count = points.Groups.Sum(g => g.Times.Count);
        (double start, double end) = points.TimeRange;
        return FormattableString.Invariant($"Amplitude in mm {axis} against time from {start:0.##} s to {end:0.##} s: {count} frames")
            + (curve is null ? ", without a fit." : ", with the fitted curve and its residuals.");
    }

    private sealed record PointGroup(
        FigureRole Role, PointKind Kind, float SizePx, string Legend, IReadOnlyList<double> Times, IReadOnlyList<double> AmplitudesMm);

    private sealed record Points(IReadOnlyList<PointGroup> Groups, (double Start, double End) TimeRange)
    {
        /// <summary>Sorts the frames into the groups that the figure tells apart.</summary>
        public static Points Sort(IReadOnlyList<AmplitudeSample> samples, FittedCurve? curve)
        {
            const FrameFlags shownFlags = FrameFlags.Saturated | FrameFlags.Faint | FrameFlags.EstimatesDisagree | FrameFlags.OutsideMarks
                | FrameFlags.Recovered;
            Dictionary<int, FitResidual> fitted = curve?.Residuals.ToDictionary(r => r.Frame) ?? [];
            FigureRole RoleOf(AmplitudeSample s)
            {
                if (s.Flags.HasFlag(FrameFlags.Outlier) || (fitted.TryGetValue(s.Frame, out FitResidual? r) && r.Outlier))
                    return FigureRole.Outlier;
                if (!s.IsUsable || (curve is not null && !fitted.ContainsKey(s.Frame)))
                    return FigureRole.LeftOut;
                return (s.Flags & shownFlags) != 0 ? FigureRole.Second : FigureRole.Data;
            }

            AmplitudeSample[] drawn = [.. samples.Where(s => double.IsFinite(s.AmplitudeMm) && double.IsFinite(s.TimeSeconds))];
            ILookup<FigureRole, AmplitudeSample> byRole = drawn.ToLookup(RoleOf);
            (FigureRole Role, PointKind Kind, float SizePx, string Legend)[] looks =
            [
                (FigureRole.LeftOut, PointKind.Circle, 5, "not used"),
                (FigureRole.Data, PointKind.Dot, 4, "frames"),
                (FigureRole.Second, PointKind.Square, 4, "flagged, used"),
                (FigureRole.Outlier, PointKind.TriangleUp, 9, "far off the curve"),
            ];
            PointGroup[] groups =
            [
                .. looks.Where(l => byRole[l.Role].Any()).Select(l => new PointGroup(l.Role, l.Kind, l.SizePx, l.Legend,
                    [.. byRole[l.Role].Select(s => s.TimeSeconds)], [.. byRole[l.Role].Select(s => s.AmplitudeMm)])),
            ];
            double start = drawn.Select(s => s.TimeSeconds).DefaultIfEmpty(0).Min();
            double end = drawn.Select(s => s.TimeSeconds).DefaultIfEmpty(1).Max();
            double margin = end > start ? 0.02 * (end - start) : 0.5;
            return new Points(groups, (start - margin, end + margin));
        }
    }
}
