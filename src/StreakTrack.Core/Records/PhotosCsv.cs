using System.Buffers;
using System.Globalization;
using System.Text;

namespace StreakTrack.Core.Records;

/// <summary>Writes what was measured in photographs as CSV: RFC 4180, missing numbers as empty cells, flags joined by <c>;</c>.</summary>
public static class PhotosCsv
{
    // Readers of tables tell the separator by what stands in the first lines.
    private static readonly SearchValues<char> NeedQuotes = SearchValues.Create(",\"\r\n;\t");

    /// <summary>The columns of all photographs, in order.</summary>
    public static IReadOnlyList<string> Columns { get; } =
    [
        "photo", "frequency_hz", "exposure_s", "exposure_periods", "left_mm", "right_mm", "length_mm", "amplitude_mm", "amplitude_u_mm",
        "amplitude_combined_u_mm", "threshold_amplitude_mm", "amplitude_mrad", "amplitude_u_mrad", "brightness", "shift_u_px", "shift_v_px", "flags",
    ];

    /// <summary>One row a photograph.</summary>
    public static string Write(IEnumerable<PhotoResultRecord> photos) => Table(Columns, photos.Select(p => new[]
    {
        Quoted(p.File), Cell(p.FrequencyHz), Cell(p.ExposureS), Cell(p.ExposurePeriods), Cell(p.LeftMm), Cell(p.RightMm), Cell(p.LengthMm),
        Cell(p.AmplitudeMm), Cell(p.AmplitudeUncertaintyMm), Cell(p.CombinedUncertaintyMm), Cell(p.ThresholdAmplitudeMm),
        Cell(p.AmplitudeMrad), Cell(p.AmplitudeUncertaintyMrad),
        Cell(p.Brightness), Cell(p.ShiftUPx), Cell(p.ShiftVPx), string.Join(';', p.Flags),
    }));

    /// <summary>The points of a resonance curve, as a study takes them: photographs that can be used and whose drive frequency is known. Null when
    /// there are none.</summary>
    /// <remarks>Amplitudes are the mirror's angles where these are known: it is the angle that follows the drive in proportion, and the streak its
    /// tangent.</remarks>
    public static string? WriteCurve(IEnumerable<PhotoResultRecord> photos)
    {
        PhotoResultRecord[] points = [.. photos.Where(p => p.Usable && p.FrequencyHz is not null && p.AmplitudeMm is not null)];
        if (points.Length == 0)
            return null;
        bool angles = points.All(p => p.AmplitudeMrad is not null);
        string unit = angles ? "mrad" : "mm";
        return Table(["frequency_hz", $"amplitude_{unit}", $"amplitude_u_{unit}", "photo"], points.Select(p => new[]
        {
            Cell(p.FrequencyHz), Cell(angles ? p.AmplitudeMrad : p.AmplitudeMm),
            Cell(angles ? p.AmplitudeUncertaintyMrad : p.AmplitudeUncertaintyMm), Quoted(p.File),
        }));
    }

    private static string Table(IReadOnlyList<string> columns, IEnumerable<string[]> rows)
    {
        var text = new StringBuilder();
        text.AppendJoin(',', columns).Append("\r\n");
        foreach (string[] row in rows)
            text.AppendJoin(',', row).Append("\r\n");
        return text.ToString();
    }

    private static string Cell(double? value) => value is double v && double.IsFinite(v) ? v.ToString("R", CultureInfo.InvariantCulture) : "";

    private static string Quoted(string text) =>
        text.AsSpan().ContainsAny(NeedQuotes) ? "\"" + text.Replace("\"", "\"\"", StringComparison.Ordinal) + "\"" : text;
}
