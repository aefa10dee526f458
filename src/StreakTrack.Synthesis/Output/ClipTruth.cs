using System.Text.Json.Serialization;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Output;

/// <summary>What is true of a simulated clip; written as <c>truth.json</c>. Picture points are those of the picture as displayed, the
/// centre of the top left pixel at (0, 0). Times are the frames' times in the clip, which are the starts of the first row's
/// exposure.</summary>
public sealed record ClipTruth
{
    /// <summary>Version of this layout.</summary>
    public int TruthVersion { get; init; } = 1;

    /// <summary>Random text that keeps the file's hash from telling what is in it; null where no hash is handed out.</summary>
    [JsonIgnore(Condition = JsonIgnoreCondition.WhenWritingNull)]
    public string? Salt { get; init; }

    /// <summary>Everything that determined the clip.</summary>
    public required ClipScenario Scenario { get; init; }

    /// <summary>File name of the clip beside this file.</summary>
    public required string Clip { get; init; }

    /// <summary>What encoded it.</summary>
    public required string Encoder { get; init; }

    /// <summary>Columns of the displayed picture.</summary>
    public required int DisplayWidthPx { get; init; }

    /// <summary>Rows of the displayed picture.</summary>
    public required int DisplayHeightPx { get; init; }

    /// <summary>The oscillator's numbers that an analysis should find.</summary>
    public required OscillatorTruth Oscillator { get; init; }

    /// <summary>The frames in the order of their times.</summary>
    public required IReadOnlyList<FrameTruth> Frames { get; init; }

    /// <summary>The ticks in the first frame where they, or their prolongations, meet the line of the streak.</summary>
    public required IReadOnlyList<TickTruth> Ticks { get; init; }
}

/// <summary>The oscillator's true numbers.</summary>
/// <param name="FrequencyHz">Frequency of the free oscillation, in Hz.</param>
/// <param name="TauS">Decay time of the mirror's amplitude, in s.</param>
/// <param name="Q">Quality factor pi f tau.</param>
/// <param name="SwitchTimeS">When the drive changes, in s after the first frame's exposure begins; a fit against the frames' times, which
/// are starts of exposures, finds it half an exposure earlier. Null for a sweep.</param>
public sealed record OscillatorTruth(
    double FrequencyHz, double TauS, [property: JsonPropertyName("q")] double Q, double? SwitchTimeS);

/// <summary>What is true of one frame.</summary>
public sealed record FrameTruth
{
    /// <summary>Number of the frame, from 0.</summary>
    public required int Frame { get; init; }

    /// <summary>The frame's time in the clip, in s.</summary>
    public required double TimeS { get; init; }

    /// <summary>Whether the picture is that of the frame before; everything below is true of the picture shown.</summary>
    public required bool Repeats { get; init; }

    /// <summary>Exposure time, in s.</summary>
    public required double ExposureS { get; init; }

    /// <summary>Middle of the exposure of the row in which the resting spot lies, in s.</summary>
    public required double MidExposureS { get; init; }

    /// <summary>Amplitude on the ruler at mid-exposure: half the distance between the turning points, in mm.</summary>
    public required double AmplitudeMm { get; init; }

    /// <summary>Periods of the free oscillation in the exposure; below 1 only an arc of the swing may be seen.</summary>
    public required double PeriodsExposed { get; init; }

    /// <summary>The smallest reading that the spot's centre reached during the exposure, in mm.</summary>
    public required double FirstMm { get; init; }

    /// <summary>The largest reading that the spot's centre reached during the exposure, in mm.</summary>
    public required double SecondMm { get; init; }

    /// <summary>Where <see cref="FirstMm"/> is seen: u, v in px.</summary>
    public required IReadOnlyList<double> FirstPx { get; init; }

    /// <summary>Where <see cref="SecondMm"/> is seen: u, v in px.</summary>
    public required IReadOnlyList<double> SecondPx { get; init; }

    /// <summary>How far the picture has moved since the first frame: to the right and downward as displayed, in px.</summary>
    public required IReadOnlyList<double> ShiftPx { get; init; }
}

/// <summary>Where a tick is seen.</summary>
/// <param name="ReadingMm">Its reading, in mm.</param>
/// <param name="Px">Its place: u, v in px.</param>
public sealed record TickTruth(double ReadingMm, IReadOnlyList<double> Px);
