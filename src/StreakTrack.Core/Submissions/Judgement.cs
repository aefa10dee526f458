using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;

namespace StreakTrack.Core.Submissions;

/// <summary>What was found out about one submission. Nothing in it depends on when, where or how fast.</summary>
public sealed record Judgement
{
    /// <summary>Name of the submission's folder or file.</summary>
    public required string Submission { get; init; }

    /// <summary>Whether the stated numbers come out again.</summary>
    public required Verdict Verdict { get; init; }

    /// <summary>The reasons, the most severe first.</summary>
    public IReadOnlyList<Finding> Reasons { get; init; } = [];

    /// <summary>Decay time that the record states, in s.</summary>
    public QuantityRecord? StatedTauS { get; init; }

    /// <summary>Decay time from the re-run with the record's marks and settings, in s.</summary>
    public QuantityRecord? RerunTauS { get; init; }

    /// <summary>Decay time from the automatic run, in s.</summary>
    public QuantityRecord? AutomaticTauS { get; init; }

    /// <summary>Normalised error of the stated decay time against the automatic run.</summary>
    public double? NormalisedError { get; init; }

    /// <summary>Decay time of the reference that the submission was held against, in s, with half the half-width of its tolerance as standard
    /// uncertainty; null without a reference.</summary>
    public QuantityRecord? ReferenceTauS { get; init; }

    /// <summary>Normalised error of the stated decay time against the reference.</summary>
    public double? ReferenceNormalisedError { get; init; }

    /// <summary>Model that the record states.</summary>
    public string? Model { get; init; }

    /// <summary>Model that the automatic run chose.</summary>
    public string? AutomaticModel { get; init; }

    /// <summary>SHA-256 of the clip handed in, lower-case hexadecimal.</summary>
    public string? ClipSha256 { get; init; }

    /// <summary>Fingerprint of the clip's usual picture, by which copies of a clip are recognised (<see cref="Resemblance"/>).</summary>
    public IReadOnlyList<double> Trace { get; init; } = [];

    /// <summary>Fingerprint of the fine structure of the streak's series, likewise (<see cref="Submissions.SeriesTrace"/>).</summary>
    public IReadOnlyList<double> SeriesTrace { get; init; } = [];

    /// <summary>A verdict that nothing needed to be run for.</summary>
    /// <param name="submission">Name of the submission.</param>
    /// <param name="reason">Why it cannot be judged.</param>
    public static Judgement Without(string submission, Finding reason) => new()
    {
        Submission = submission, Verdict = Verdict.CannotBeJudged, Reasons = [reason],
    };
}
