using StreakTrack.Core.Records;
using StreakTrack.Reporting.Figures;

namespace StreakTrack.Reporting.Photos;

/// <summary>Amplitude of each photograph against the drive's frequency, or against its place in the series where frequencies do not differ.</summary>
internal static class PhotoFigure
{
    /// <summary>Draws the figure.</summary>
    /// <param name="photos">The photographs; at least one has an amplitude.</param>
    public static Figure Draw(IReadOnlyList<PhotoResultRecord> photos)
    {
        bool curve = photos.Select(p => p.FrequencyHz).OfType<double>().Distinct().Count() > 1;
        (double X, PhotoResultRecord Photo)[] seen =
        [
            .. photos.Select((p, k) => (X: curve ? p.FrequencyHz ?? double.NaN : k + 1, Photo: p))
                .Where(s => double.IsFinite(s.X) && s.Photo.AmplitudeMm is not null),
        ];
        (double X, PhotoResultRecord Photo)[] used = [.. seen.Where(s => s.Photo.Usable)], leftOut = [.. seen.Where(s => !s.Photo.Usable)];
        string xTitle = curve ? "drive frequency / Hz" : "photograph";
        Panel panel = new(xTitle, "amplitude / mm", 380);
        panel.AddBars(
            [.. used.Select(s => s.X)], [.. used.Select(s => Amplitude(s.Photo) - Uncertainty(s.Photo))],
            [.. used.Select(s => Amplitude(s.Photo) + Uncertainty(s.Photo))], FigureRole.Data);
        panel.AddPoints([.. leftOut.Select(s => s.X)], [.. leftOut.Select(s => Amplitude(s.Photo))], FigureRole.LeftOut, PointKind.Circle, 6, "not used");
        panel.AddPoints([.. used.Select(s => s.X)], [.. used.Select(s => Amplitude(s.Photo))], FigureRole.Data, PointKind.Dot, 6, "photographs");
        double low = seen.Min(s => s.X), high = seen.Max(s => s.X), margin = high > low ? 0.05 * (high - low) : 0.5;
        panel.SetX(low - margin, high + margin);
        panel.SetY(0, 1.08 * seen.Max(s => Amplitude(s.Photo) + (s.Photo.Usable ? Uncertainty(s.Photo) : 0)));
        panel.ShowLegend();
        return FigureDrawing.Draw(
            "photos",
            curve ? "Amplitude against drive frequency" : "Amplitude in each photograph",
            FormattableString.Invariant(
                $"Amplitudes of {seen.Length} photographs, from {seen.Min(s => Amplitude(s.Photo)):0.00} mm to {seen.Max(s => Amplitude(s.Photo)):0.00} mm, against {(curve ? "the drive frequency" : "their place in the series")}."),
            "Half the length of the streak, with one combined standard uncertainty (often smaller than the point). Open circles are not used, for the reason "
                + "that the table gives.",
            panel);
    }

    private static double Amplitude(PhotoResultRecord photo) => photo.AmplitudeMm ?? double.NaN;

    private static double Uncertainty(PhotoResultRecord photo) => photo.CombinedUncertaintyMm ?? photo.AmplitudeUncertaintyMm ?? 0;
}
