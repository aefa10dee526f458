namespace StreakTrack.Core.Records;

/// <summary>Holds the settings of a record that was read against their ranges: a record can come from anywhere, and what the command line
/// checks for its own options nobody has checked here.</summary>
internal static class RecordCheck
{
    /// <summary>Trials and replicates beyond this would not end: as for the command's own options.</summary>
    private const int MostTrials = 10_000_000;

    /// <summary>Larger than any picture.</summary>
    private const int MostPx = 100_000;

    private static readonly string[] Models = [Fitting.EnvelopeFitOptions.AutomaticModel, .. Fitting.EnvelopeModels.Names];

    /// <summary>Refuses a record that has settings outside their ranges, or nothing where an entry should be.</summary>
    /// <exception cref="UnusableInputException">A setting is out of its range; the message names it.</exception>
    public static void Require(AnalysisRecord record, string subject)
    {
        const string nextStep = "Use an unchanged copy of the file, or correct the setting.";
        Require(record.Options, (name, problem) => new UnusableInputException(subject, $"{name} of the record {problem}", nextStep));
        Check("marks", !HasGaps(record.Marks));
        Check("findings", !HasGaps(record.Result.Findings));

        void Check(string name, bool isSound)
        {
            if (!isSound)
                throw new UnusableInputException(subject, $"{name} of the record is missing or has an empty entry", nextStep);
        }
    }

    /// <summary>Refuses settings outside their ranges.</summary>
    /// <param name="options">The settings.</param>
    /// <param name="refusal">What to throw, from the name of the setting and what is wrong with it.</param>
    public static void Require(AnalysisOptions options, Func<string, string, UnusableInputException> refusal)
    {
        Check("model", Models.Contains(options.Model), $"is none of {string.Join(", ", Models)}");
        Check("loss", options.Loss is "auto" or "robust" or "least-squares", "is none of auto, robust, least-squares");
        Check("switch_time_source", options.SwitchTimeSource is "fitted" or "found", "is none of fitted, found");
        Check("frequency_hz", options.FrequencyHz is not double hz || IsPositive(hz), "is not positive");
        Check("frequency_uncertainty_hz", IsNotNegative(options.FrequencyUncertaintyHz), "is negative or missing");
        Check("distance_mm", options.DistanceMm is not double mm || IsPositive(mm), "is not positive");
        Check("distance_uncertainty_mm", IsNotNegative(options.DistanceUncertaintyMm), "is negative or missing");
        Check("time_scale", IsPositive(options.TimeScale), "is not positive");
        Check("window_start_s", options.WindowStartS is not double start || double.IsFinite(start), "is no number");
        Check("window_end_s", options.WindowEndS is not double end || double.IsFinite(end), "is no number");
        Check("window_end_s", !(options.WindowStartS >= options.WindowEndS), "is not after window_start_s");
        Check("switch_time_s", options.SwitchTimeS is not double time || double.IsFinite(time), "is no number");
        Check("switch_time_uncertainty_s", IsNotNegative(options.SwitchTimeUncertaintyS), "is negative or missing");
        Check("offset_uncertainty_mm", options.OffsetUncertaintyMm is not double offset || IsNotNegative(offset), "is negative");
        Check("threshold_fraction", options.ThresholdFraction is >= 0.1 and <= 0.9, "lies outside 0.1 to 0.9");
        Check("band_offset_px", Math.Abs(options.BandOffsetPx) <= MostPx, "is no number, or beyond any picture");
        Check("band_half_width_px", options.BandHalfWidthPx is null or (>= 4 and <= MostPx), "is not 4 to 100000");
        Check("reader", options.Reader is "auto" or "ffmpeg" or "embedded", "is none of auto, ffmpeg, embedded");
        Check("ruler_class", options.RulerClass is "none" or "I" or "II" or "III", "is none of none, I, II, III");
        Check("ticks", options.Ticks is "auto" or "off", "is none of auto, off");
        Check("bootstrap_replicates", options.BootstrapReplicates is null or 0 or (>= 20 and <= MostTrials), "is neither 0 nor 20 to 10000000");
        Check("monte_carlo_trials", options.MonteCarloTrials is null or 0 or (>= 1000 and <= MostTrials), "is neither 0 nor 1000 to 10000000");
        Check("band_marks", !HasGaps(options.BandMarks), "is missing or has an empty entry");
        Check("drive_steps", !HasGaps(options.DriveSteps), "is missing or has an empty entry");
        Check("excluded_frames", options.ExcludedFrames is not null, "is missing");
        Check("exclusion_reasons", options.ExclusionReasons is not null, "is missing");

        void Check(string name, bool isSound, string problem)
        {
            if (!isSound)
                throw refusal(name, problem);
        }
    }

    private static bool IsPositive(double value) => value > 0 && double.IsFinite(value);

    private static bool IsNotNegative(double value) => value >= 0 && double.IsFinite(value);

    // The reader of the text takes null for an entry of a list, and for a list that is not there, whatever the types say.
    private static bool HasGaps<T>(IReadOnlyList<T>? list) => list is null || list.Any(entry => entry is null);
}
