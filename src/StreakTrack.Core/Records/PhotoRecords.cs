using System.Text.Json.Serialization;

namespace StreakTrack.Core.Records;

/// <summary>Identity and facts of one photograph of a series.</summary>
public sealed record PhotoFileRecord
{
    /// <summary>File name without its folder.</summary>
    public required string File { get; init; }

    /// <summary>SHA-256 of the file, lower-case hexadecimal.</summary>
    [JsonPropertyName("sha256")]
    public required string Sha256 { get; init; }

    /// <summary>Size of the file, in bytes.</summary>
    public required long Bytes { get; init; }

    /// <summary>File format: JPEG or PNG.</summary>
    public required string Format { get; init; }

    /// <summary>Columns of the upright picture.</summary>
    public required int WidthPx { get; init; }

    /// <summary>Rows of the upright picture.</summary>
    public required int HeightPx { get; init; }

    /// <summary>Orientation tag of the file, 1 to 8; 1 where it has none.</summary>
    public required int Orientation { get; init; }

    /// <summary>Exposure time that the file states, in s; null where it does not.</summary>
    public double? ExposureS { get; init; }

    /// <summary>Frequency of the drive that was given for it, in Hz; null where none was.</summary>
    public double? FrequencyHz { get; init; }
}

/// <summary>What was measured in one photograph; lengths on the ruler. Null stands for what could not be measured.</summary>
public sealed record PhotoResultRecord
{
    /// <summary>File name without its folder.</summary>
    public required string File { get; init; }

    /// <summary>Frequency of the drive, in Hz: the photograph's own, or the one given for all.</summary>
    public double? FrequencyHz { get; init; }

    /// <summary>Exposure time that the file states, in s.</summary>
    public double? ExposureS { get; init; }

    /// <summary>Exposure in periods of the oscillation: exposure time times frequency.</summary>
    public double? ExposurePeriods { get; init; }

    /// <summary>Reading of the turning point with the smaller reading, in mm.</summary>
    public double? LeftMm { get; init; }

    /// <summary>Reading of the turning point with the larger reading, in mm.</summary>
    public double? RightMm { get; init; }

    /// <summary>Distance between the turning points, in mm.</summary>
    public double? LengthMm { get; init; }

    /// <summary>Half the distance between the turning points, in mm.</summary>
    public double? AmplitudeMm { get; init; }

    /// <summary>Standard uncertainty of <see cref="AmplitudeMm"/> by what differs from photograph to photograph, in mm.</summary>
    public double? AmplitudeUncertaintyMm { get; init; }

    /// <summary>Standard uncertainty of <see cref="AmplitudeMm"/> with what all photographs share, scale and spot, in mm.</summary>
    public double? CombinedUncertaintyMm { get; init; }

    /// <summary>Amplitude from the threshold stage alone, in mm.</summary>
    public double? ThresholdAmplitudeMm { get; init; }

    /// <summary>Amplitude of the mirror's angle, in mrad; null without a distance.</summary>
    public double? AmplitudeMrad { get; init; }

    /// <summary>Standard uncertainty of <see cref="AmplitudeMrad"/> that goes with <see cref="AmplitudeUncertaintyMm"/>.</summary>
    public double? AmplitudeUncertaintyMrad { get; init; }

    /// <summary>Laser light in the streak, in linear units, 1 = one pixel at full scale.</summary>
    public double? Brightness { get; init; }

    /// <summary>How far the ruler lies to the right of where the first photograph shows it, in px.</summary>
    public double? ShiftUPx { get; init; }

    /// <summary>How far the ruler lies below where the first photograph shows it, in px.</summary>
    public double? ShiftVPx { get; init; }

    /// <summary>What is remarkable about the photograph, by the names that a series has for frames; empty for nothing.</summary>
    public IReadOnlyList<string> Flags { get; init => field = value ?? []; } = [];

    /// <summary>Whether the amplitude can be used.</summary>
    public required bool Usable { get; init; }
}
