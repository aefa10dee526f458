using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;

namespace StreakTrack.Worksheet.Desk;

/// <summary>What stands in the notebook at one moment. Immutable; a change makes another one.</summary>
internal sealed record NotebookState
{
    /// <summary>Counts the changes that people make; a change names the version it was made to.</summary>
    public int Version { get; init; }

    /// <summary>Counts everything that happens, results included; a page with an older one is out of date.</summary>
    public int Revision { get; init; }

    /// <summary>The ruler marks.</summary>
    public IReadOnlyList<MarkRecord> Marks { get; init; } = [];

    /// <summary>The settings.</summary>
    public AnalysisOptions Options { get; init; } = new();

    /// <summary>The scale; null when the marks make none.</summary>
    public RulerScale? Scale { get; init; }

    /// <summary>Why they make none; null when they do, or when there are fewer than two.</summary>
    public string? ScaleProblem { get; init; }

    /// <summary>The measured streak; null before.</summary>
    public MeasuredStreak? Measured { get; init; }

    /// <summary>Whether a setting was changed since that needs a new measurement.</summary>
    public bool MeasuredIsOutdated => Measured is { } measured
        && ClipAnalyzer.StreakOptionsOf(Options) is var wanted && wanted != measured.Options.WithLaterOf(wanted);

    /// <summary>Amplitude against time of the present version; null when there is none. While <see cref="IsSettling"/>, a threshold or ticks of a
    /// changed ruler are not in it yet.</summary>
    public AmplitudeSeries? Series { get; init; }

    /// <summary>The measurement under way; null when there is none.</summary>
    public MeasuringRun? Run { get; init; }

    /// <summary>Why the last measurement ended without a result; null when it did not.</summary>
    public string? MeasuringProblem { get; init; }

    /// <summary>Everything behind the measurement; null when it can't be had.</summary>
    public ClipAnalysis? Analysis { get; init; }

    /// <summary>Whether <see cref="Analysis"/> is still that of an earlier version, while the present one is computed.</summary>
    public bool IsSettling { get; init; }

    /// <summary>The fit of the present version as far as it is there at once: without model comparison and intervals. Null when
    /// <see cref="Analysis"/> is the present one, or when there is no fit.</summary>
    public EnvelopeFit? QuickFit { get; init; }

    /// <summary>Why it can't be had.</summary>
    public string? AnalysisProblem { get; init; }

    /// <summary>Version of the change whose results were last written as a report; null when none was.</summary>
    public int? ReportedVersion { get; init; }

    /// <summary>Something to tell about the work folder; null when all is well.</summary>
    public string? SavingProblem { get; init; }
}
