using StreakTrack.Core.Series;

namespace StreakTrack.Reporting.Figures;

/// <summary>The threshold estimate of the amplitude held against the profile estimate.</summary>
public static class EstimatesFigure
{
    /// <summary>Draws threshold minus profile estimate against the profile estimate.</summary>
    /// <param name="samples">The series; frames that lack either estimate are not drawn.</param>
    /// <param name="pictures">What to call its pictures.</param>
    public static Figure Draw(IReadOnlyList<AmplitudeSample> samples, string pictures = "frames")
    {
        AmplitudeSample[] both = [.. samples.Where(s => double.IsFinite(s.AmplitudeMm) && double.IsFinite(s.ThresholdAmplitudeMm))];
        Panel panel = new("amplitude from the profile / mm", "threshold \u2212 profile / mm", 280);
        panel.AddLevel(0, FigureRole.Muted);
        Add(panel, [.. both.Where(s => !s.IsUsable)], FigureRole.LeftOut, PointKind.Circle, "not used");
        Add(panel, [.. both.Where(s => s.IsUsable)], FigureRole.Data, PointKind.Dot, pictures);
        double[] differences = [.. both.Select(s => s.ThresholdAmplitudeMm - s.AmplitudeMm)];
        double top = both.Select(s => s.AmplitudeMm).DefaultIfEmpty(1).Max();
        double low = Math.Min(0, differences.DefaultIfEmpty(0).Min());
        double high = Math.Max(0, differences.DefaultIfEmpty(1).Max());
        double margin = high > low ? 0.1 * (high - low) : 0.5;
        panel.SetX(0, 1.04 * (top > 0 ? top : 1));
        panel.SetY(low - margin, high + margin);
        panel.ShowLegend();
        double[] usable = [.. both.Where(s => s.IsUsable).Select(s => s.ThresholdAmplitudeMm - s.AmplitudeMm).Order()];
        string median = usable.Length == 0
            ? ""
            : FormattableString.Invariant($"; the median difference is {usable[usable.Length / 2]:0.00} mm");
        return FigureDrawing.Draw(
            "estimates",
            "Threshold estimate against profile estimate",
            $"Difference of the two amplitude estimates for {both.Length} {pictures}{median}.",
            "A constant offset is the half width of the spot at the threshold and does no harm: the profile estimate is the one that is used. "
                + "A difference that drifts or jumps shows glare, a reflection or a second spot.",
            panel);
    }

    private static void Add(Panel panel, AmplitudeSample[] chosen, FigureRole role, PointKind kind, string legend) => panel.AddPoints(
        [.. chosen.Select(s => s.AmplitudeMm)], [.. chosen.Select(s => s.ThresholdAmplitudeMm - s.AmplitudeMm)], role, kind, 4, legend);
}
