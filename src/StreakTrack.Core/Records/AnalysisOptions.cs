namespace StreakTrack.Core.Records;

/// <summary>The settings of one analysis. Every setting is written into the record, defaults included.</summary>
public sealed record AnalysisOptions
{
    /// <summary>Envelope model: auto, or one of the names that the fit stage knows (decay, decay-floor, rise, …). Default auto.</summary>
    public string Model { get; init; } = "auto";

    /// <summary>Oscillation frequency, in Hz, positive; null when not known. Needed for Q and the quantities that follow from it.</summary>
    public double? FrequencyHz { get; init; }

    /// <summary>Standard uncertainty of <see cref="FrequencyHz"/>, in Hz. Default 0: negligible beside that of tau.</summary>
    public double FrequencyUncertaintyHz { get; init; }

    /// <summary>Distance from mirror to ruler, in mm, positive; null when not known. Needed for angles.</summary>
    public double? DistanceMm { get; init; }

    /// <summary>Standard uncertainty of <see cref="DistanceMm"/>, in mm. Default 0.</summary>
    public double DistanceUncertaintyMm { get; init; }

    /// <summary>Clip reader: auto, ffmpeg or embedded. Default auto.</summary>
    public string Reader { get; init; } = "auto";

    /// <summary>Real seconds for each second of the file, positive. Default 1; below 1 for slow motion.</summary>
    public double TimeScale { get; init; } = 1;

    /// <summary>Beginning of the fit's window, in s of the series; null for the start of the clip.</summary>
    public double? WindowStartS { get; init; }

    /// <summary>End of the fit's window, in s of the series; null for the end of the clip.</summary>
    public double? WindowEndS { get; init; }

    /// <summary>Time at which the drive was switched, in s of the series; null to find it.</summary>
    public double? SwitchTimeS { get; init; }

    /// <summary>Standard uncertainty of <see cref="SwitchTimeS"/>, in s, not negative. Default 0.</summary>
    public double SwitchTimeUncertaintyS { get; init; }

    /// <summary>How the time of the switch is had when it is not known: fitted as a parameter, or found as the change point of the series and
    /// then held, with the change point's uncertainty. Default fitted.</summary>
    public string SwitchTimeSource { get; init; } = "fitted";

    /// <summary>Treatment of points far off the curve: auto (robust where there are such points), robust, or least-squares. They are flagged
    /// in any case. Default auto.</summary>
    public string Loss { get; init; } = "auto";

    /// <summary>Series simulated for the block bootstrap, at least 20; 0 for none; null for the default number where residuals are correlated
    /// and none where they are not. Default null.</summary>
    public int? BootstrapReplicates { get; init; }

    /// <summary>Trials of the Monte Carlo check of the uncertainty budgets, at least 1000; 0 for as many as the results need to settle (JCGM
    /// 101:2008, 7.9); null for no such check. Default null.</summary>
    public int? MonteCarloTrials { get; init; }

    /// <summary>Seed of all random numbers of the analysis. Default 1.</summary>
    public int Seed { get; init; } = 1;

    /// <summary>Standard uncertainty of an offset that all amplitudes may have in common, in mm, not negative; null for what follows from
    /// the spot's width in a clip, and 0 for a series from a file.</summary>
    public double? OffsetUncertaintyMm { get; init; }

    /// <summary>Accuracy class of the ruler after Directive 2014/32/EU annex X: none, I, II or III. Default none.</summary>
    public string RulerClass { get; init; } = "none";

    /// <summary>Whether the ruler's ticks are found in the picture and make the scale: auto, where they are found and agree with the marks, or
    /// off for a scale from the marks alone. Default auto.</summary>
    public string Ticks { get; init; } = "auto";

    /// <summary>Threshold of the streak's coarse ends, as a fraction of the brightness next to the end; 0.1 to 0.9. Default 0.5.</summary>
    public double ThresholdFraction { get; init; } = 0.5;

    /// <summary>How far beside the line through the marks the middle of the band lies in which the streak is looked for, in px across that
    /// line. Default 0: on the line.</summary>
    public double BandOffsetPx { get; init; }

    /// <summary>Half the width of the band in which the streak is looked for, in px, at least 4; null, the default, for a quarter of the
    /// picture's smaller side.</summary>
    public int? BandHalfWidthPx { get; init; }

    /// <summary>The marks along which the streak was measured, where the marks were changed afterwards; empty, the default, when these are
    /// the marks of the record. Readings are in pixels, so changed marks need no new measurement, but a repetition must lay its band
    /// where the measurement had it.</summary>
    public IReadOnlyList<MarkRecord> BandMarks { get; init; } = [];

    /// <summary>The steps of a drive that is stepped through resonance within the clip, in the order of time; empty, the default, for a
    /// single change of the drive.</summary>
    public IReadOnlyList<DriveStepRecord> DriveSteps { get; init => field = value ?? []; } = [];

    /// <summary>Frames that the user left out, by number from 0.</summary>
    public IReadOnlyList<int> ExcludedFrames { get; init; } = [];

    /// <summary>Why frames were left out, by frame number, where the user gave a reason.</summary>
    public IReadOnlyDictionary<int, string> ExclusionReasons { get; init; } = new Dictionary<int, string>();
}
