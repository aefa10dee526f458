using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using StreakTrack.Core.Records;
using StreakTrack.Reporting.Photos;

namespace StreakTrack.Reporting;

/// <summary>Describes <c>series.csv</c> as a Frictionless Data Package (specification version 1), so that spreadsheets, Python and R read
/// it without help.</summary>
/// <remarks>Specifications: Data Package, Tabular Data Resource, Table Schema and CSV Dialect, version 1
/// (specs.frictionlessdata.io).</remarks>
public static class DataPackage
{
    private static readonly JsonWriterOptions Layout =
        new() { Indented = true, NewLine = "\n", Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    private static readonly (string Name, string Type, string Title, string Description)[] Fields =
    [
        ("frame", "integer", "Frame", "Position of the frame in the clip, from 0."),
        ("time_s", "number", "Time", "Presentation time of the frame. Unit: s."),
        ("left_mm", "number", "Left turning point", "Ruler reading of the turning point with the smaller reading. Unit: mm."),
        ("right_mm", "number", "Right turning point", "Ruler reading of the turning point with the larger reading. Unit: mm."),
        ("length_mm", "number", "Length", "Distance between the turning points. Unit: mm."),
        ("amplitude_mm", "number", "Amplitude", "Half the distance between the turning points, on the ruler. Unit: mm."),
        ("amplitude_u_mm", "number", "Uncertainty of the amplitude",
            "Standard uncertainty of the amplitude that differs from frame to frame; that of the scale is not in it. Unit: mm."),
        ("threshold_amplitude_mm", "number", "Threshold amplitude", "Amplitude from the threshold stage alone. Unit: mm."),
        ("amplitude_mrad", "number", "Mirror amplitude", "Amplitude of the mirror's angle; empty without a distance. Unit: mrad."),
        ("brightness", "number", "Brightness", "Laser light in the streak, in linear units: 1 is one pixel at full scale."),
        ("flags", "string", "Flags", "What is remarkable about the frame: names joined by semicolons, empty for nothing."),
    ];

    private static readonly (string Name, string Type, string Title, string Description)[] PhotoFields =
    [
        ("photo", "string", "Photograph", "File name of the photograph."),
        ("frequency_hz", "number", "Drive frequency", "Frequency of the drive; empty where it was not given. Unit: Hz."),
        ("exposure_s", "number", "Exposure", "Exposure time that the file states; empty where it does not. Unit: s."),
        ("exposure_periods", "number", "Exposure in periods", "Exposure time times frequency."),
        ("amplitude_u_mm", "number", "Uncertainty of the amplitude",
            "Standard uncertainty of the amplitude by what differs from photograph to photograph. Unit: mm."),
        ("amplitude_combined_u_mm", "number", "Combined uncertainty of the amplitude",
            "Standard uncertainty of the amplitude with what all photographs share: the scale and the spot's shape. Unit: mm."),
        ("amplitude_u_mrad", "number", "Uncertainty of the mirror amplitude",
            "Standard uncertainty of the mirror's amplitude by what differs from photograph to photograph. Unit: mrad."),
        ("shift_u_px", "number", "Shift to the right", "How far the ruler lies to the right of where the first photograph shows it. Unit: px."),
        ("shift_v_px", "number", "Shift downward", "How far the ruler lies below where the first photograph shows it. Unit: px."),
        ("flags", "string", "Flags", "What is remarkable about the photograph: names joined by semicolons, empty for nothing."),
        .. Fields,
    ];

    /// <summary>The descriptor as JSON text, ending with a line feed.</summary>
    /// <param name="record">The record of the analysis.</param>
    /// <param name="seriesCsv">The text of <c>series.csv</c>, or of <c>photos.csv</c>; its first line names the columns.</param>
    /// <exception cref="ArgumentException">A column is not one of those that a series has.</exception>
    public static string Describe(AnalysisRecord record, string seriesCsv)
    {
        byte[] file = Encoding.UTF8.GetBytes(seriesCsv);
        bool photos = record.Photos.Count > 0;
        using MemoryStream stream = new();
        using (Utf8JsonWriter json = new(stream, Layout))
        {
            json.WriteStartObject();
            json.WriteString("profile", "tabular-data-package");
            json.WriteString("name", "streak-amplitude");
            json.WriteString("title", photos ? "Amplitude of a laser streak in photographs" : "Amplitude of a laser streak against time");
            json.WriteString("description", Source(record));
            json.WriteStartArray("resources");
            json.WriteStartObject();
            json.WriteString("profile", "tabular-data-resource");
            json.WriteString("name", photos ? "photos" : "series");
            json.WriteString("path", photos ? PhotoFolder.PhotosFile : ReportFolder.SeriesFile);
            json.WriteString("format", "csv");
            json.WriteString("mediatype", "text/csv");
            json.WriteString("encoding", "utf-8");
            json.WriteNumber("bytes", file.Length);
            json.WriteString("hash", "sha256:" + Convert.ToHexStringLower(SHA256.HashData(file)));
            WriteDialect(json);
            WriteSchema(json, seriesCsv, photos ? PhotoFields : Fields);
            json.WriteEndObject();
            json.WriteEndArray();
            json.WriteEndObject();
        }

        return Encoding.UTF8.GetString(stream.ToArray()) + "\n";
    }

    private static string Source(AnalysisRecord record)
    {
        string from = record.Clip is ClipRecord clip ? $"Measured in the clip {clip.File} (SHA-256 {clip.Sha256})"
            : record.SeriesFile is SeriesFileRecord file ? $"From the series {file.File} (SHA-256 {file.Sha256})"
            : record.Photos.Count > 0 ? string.Create(CultureInfo.InvariantCulture,
                $"Measured in {record.Photos.Count} photographs, from {record.Photos[0].File} (SHA-256 {record.Photos[0].Sha256}) on,")
            : "A series";
        return $"{from} with {record.Program.Name} {record.Program.Version}; settings and results are in {ReportFolder.RecordFile}.";
    }

    private static void WriteDialect(Utf8JsonWriter json)
    {
        json.WriteStartObject("dialect");
        json.WriteString("delimiter", ",");
        json.WriteString("lineTerminator", "\r\n");
        json.WriteString("quoteChar", "\"");
        json.WriteBoolean("doubleQuote", true);
        json.WriteBoolean("header", true);
        json.WriteBoolean("caseSensitiveHeader", true);
        json.WriteEndObject();
    }

    private static void WriteSchema(
        Utf8JsonWriter json, string seriesCsv, (string Name, string Type, string Title, string Description)[] fields)
    {
        json.WriteStartObject("schema");
        json.WriteStartArray("fields");
        foreach (string column in seriesCsv.Split('\n', 2)[0].TrimEnd('\r').Split(','))
        {
            (string Name, string Type, string Title, string Description) field = fields.FirstOrDefault(f => f.Name == column);
            if (field.Name is null)
                throw new ArgumentException($"No description for the column \"{column}\".", nameof(seriesCsv));
            json.WriteStartObject();
            json.WriteString("name", field.Name);
            json.WriteString("type", field.Type);
            json.WriteString("title", field.Title);
            json.WriteString("description", field.Description);
            if (column is "frame" or "time_s" or "photo")
            {
                json.WriteStartObject("constraints");
                json.WriteBoolean("required", true);
                json.WriteEndObject();
            }

            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteStartArray("missingValues");
        json.WriteStringValue("");
        json.WriteEndArray();
        json.WriteEndObject();
    }
}
