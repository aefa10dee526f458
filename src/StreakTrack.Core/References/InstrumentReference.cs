using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;

namespace StreakTrack.Core.References;

/// <summary>What an instrument is known to do: its decay time at each of its settings, with the range in which a further run is expected.
/// Written as <c>reference.json</c>.</summary>
public sealed record InstrumentReference
{
    /// <summary>The layout version this program writes.</summary>
    public const int CurrentVersion = 1;

    /// <summary>Layout version of the file.</summary>
    public required int ReferenceVersion { get; init; }

    /// <summary>Name and version of the program that wrote the file.</summary>
    public required ProgramRecord Program { get; init; }

    /// <summary>What the instrument is called.</summary>
    public required string Name { get; init; }

    /// <summary>Where the numbers come from: runs or parameters.</summary>
    public required string Origin { get; init; }

    /// <summary>Name of what is set on the instrument, with its unit at the end; null when nothing is.</summary>
    public string? SettingName { get; init; }

    /// <summary>The settings, from the smallest on; one without a number when nothing is set.</summary>
    public required IReadOnlyList<ReferenceSetting> Settings { get; init; }

    /// <summary>The runs it was made from; empty when it was made from parameters.</summary>
    public IReadOnlyList<ReferenceRun> Runs { get; init => field = value ?? []; } = [];

    /// <summary>Doubts, the most severe first.</summary>
    public IReadOnlyList<Finding> Findings { get; init => field = value ?? []; } = [];
}
