using System.Text.Json.Serialization;

namespace StreakTrack.Core.Records;

/// <summary>The record of one analysis: everything needed to repeat it, and its results. Written as <c>record.json</c>.</summary>
/// <remarks>The same clip with the same record gives the same <see cref="Result"/>.</remarks>
public sealed record AnalysisRecord
{
    /// <summary>The layout version this program writes. Version 2 has settings that a program for version 1 would pass over (loss, source of
    /// the switch time, seed); a record of version 1 is read with their defaults.</summary>
    public const int CurrentVersion = 2;

    /// <summary>Layout version of the file.</summary>
    public required int RecordVersion { get; init; }

    /// <summary>Name and version of the program that wrote the record.</summary>
    public required ProgramRecord Program { get; init; }

    /// <summary>The clip that was analysed; null when a bare series was fitted.</summary>
    public ClipRecord? Clip { get; init; }

    /// <summary>The series file that was fitted; null when a clip was analysed.</summary>
    public SeriesFileRecord? SeriesFile { get; init; }

    /// <summary>The photographs that were measured, in the order of the series; empty when a clip or a series was analysed.</summary>
    public IReadOnlyList<PhotoFileRecord> Photos { get; init => field = value ?? []; } = [];

    /// <summary>The ruler marks as given.</summary>
    public IReadOnlyList<MarkRecord> Marks { get; init; } = [];

    /// <summary>The settings of the analysis, defaults included.</summary>
    public required AnalysisOptions Options { get; init; }

    /// <summary>What came out.</summary>
    public required ResultRecord Result { get; init; }
}

/// <summary>What wrote a record.</summary>
/// <param name="Name">Program name.</param>
/// <param name="Version">Program version.</param>
/// <param name="Runtime">.NET runtime, with its version.</param>
/// <param name="Reader">The reader of clips or photographs used, with its version; null without pictures.</param>
public sealed record ProgramRecord(string Name, string Version, string Runtime, string? Reader);

/// <summary>Identity and facts of a clip.</summary>
public sealed record ClipRecord
{
    /// <summary>File name without its folder.</summary>
    public required string File { get; init; }

    /// <summary>SHA-256 of the file, lower-case hexadecimal.</summary>
    [JsonPropertyName("sha256")]
    public required string Sha256 { get; init; }

    /// <summary>Size of the file, in bytes.</summary>
    public required long Bytes { get; init; }

    /// <summary>Container format.</summary>
    public required string Container { get; init; }

    /// <summary>Video codec.</summary>
    public required string Codec { get; init; }

    /// <summary>Columns of the displayed picture.</summary>
    public required int WidthPx { get; init; }

    /// <summary>Rows of the displayed picture.</summary>
    public required int HeightPx { get; init; }

    /// <summary>Frames decoded.</summary>
    public required int Frames { get; init; }

    /// <summary>Frames that the container announced but that could not be decoded.</summary>
    public int LostFrames { get; init; }

    /// <summary>Time of the first frame, in s.</summary>
    public required double FirstTimeS { get; init; }

    /// <summary>Time of the last frame, in s.</summary>
    public required double LastTimeS { get; init; }

    /// <summary>Median distance of neighbouring frames, in s.</summary>
    public required double MedianFrameSpacingS { get; init; }
}

/// <summary>Identity of a series file that was fitted without a clip.</summary>
/// <param name="File">File name without its folder.</param>
/// <param name="Sha256">SHA-256 of the file, lower-case hexadecimal.</param>
/// <param name="Rows">Data rows.</param>
public sealed record SeriesFileRecord(string File, [property: JsonPropertyName("sha256")] string Sha256, int Rows)
{
    /// <summary>How its columns were read; null in records of programs that did not say.</summary>
    public SeriesColumnsRecord? Columns { get; init; }
}

/// <summary>How the columns of a series file were read.</summary>
/// <param name="Time">Name of the column of times.</param>
/// <param name="TimeUnit">Its unit: s, ms or min.</param>
/// <param name="Amplitude">Name of the column of amplitudes.</param>
/// <param name="Uncertainty">Name of the column of their standard uncertainties, which need not be there.</param>
/// <param name="AmplitudeUnit">Unit of amplitudes and uncertainties: mm, cm, m, um, px, or mrad, rad, deg for the angle of the mirror.</param>
/// <param name="MmPerPx">Length on the ruler of one pixel, in mm; null where the unit is not px.</param>
public sealed record SeriesColumnsRecord(
    string Time, string TimeUnit, string Amplitude, string Uncertainty, string AmplitudeUnit, double? MmPerPx);

/// <summary>One ruler mark.</summary>
/// <param name="UPx">Pixels to the right in the displayed picture.</param>
/// <param name="VPx">Pixels downward in the displayed picture.</param>
/// <param name="ReadingMm">Reading of the tick, in mm.</param>
public sealed record MarkRecord(double UPx, double VPx, double ReadingMm);
