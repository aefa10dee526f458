using StreakTrack.Core.Records;

namespace StreakTrack.Reporting.Figures;

/// <summary>What the pixel scale leaves over at each ruler mark.</summary>
public static class CalibrationFigure
{
    /// <summary>Draws the residual of each mark against its reading.</summary>
    /// <param name="marks">The marks, in the order of the record.</param>
    /// <param name="residualsMm">Reading of the map minus reading given, in mm, in the same order.</param>
    /// <exception cref="ArgumentException">The lists differ in length.</exception>
    public static Figure Draw(IReadOnlyList<MarkRecord> marks, IReadOnlyList<double> residualsMm)
    {
        if (marks.Count != residualsMm.Count)
            throw new ArgumentException($"{marks.Count} marks, but {residualsMm.Count} residuals.", nameof(residualsMm));

        double[] readings = [.. marks.Select(m => m.ReadingMm)];
        Panel panel = new("ruler reading / mm", "residual / mm", 260);
        panel.AddLevel(0, FigureRole.Model, widthPx: 1.4f);
        panel.AddBars(
            readings, [.. residualsMm.Select(r => Math.Min(r, 0))], [.. residualsMm.Select(r => Math.Max(r, 0))], FigureRole.LeftOut);
        panel.AddPoints(readings, residualsMm, FigureRole.Data, PointKind.Dot, 7);
        double largest = residualsMm.Where(double.IsFinite).Select(Math.Abs).DefaultIfEmpty(0).Max();
        double reach = largest > 0 ? 1.25 * largest : 1;
        double low = readings.DefaultIfEmpty(0).Min();
        double high = readings.DefaultIfEmpty(1).Max();
        double margin = high > low ? 0.04 * (high - low) : 1;
        panel.SetX(low - margin, high + margin);
        panel.SetY(-reach, reach);
        return FigureDrawing.Draw(
            "calibration",
            "Residuals of the ruler marks",
            FormattableString.Invariant(
                $"Residuals of {marks.Count} ruler marks against their readings; the largest is {largest:0.000} mm."),
            "The reading that the scale assigns to the place of each mark, minus the reading given.",
            panel);
    }
}
