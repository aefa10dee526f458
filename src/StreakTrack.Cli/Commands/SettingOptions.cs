using System.CommandLine;
using System.Globalization;
using StreakTrack.Core.Records;
using StreakTrack.Core.Studies;

namespace StreakTrack.Cli.Commands;

/// <summary>The options that end up in <see cref="AnalysisOptions"/>, shared by the commands that analyse and fit.</summary>
internal sealed class SettingOptions
{
    /// <summary>Most trials, replicates, and the largest seed that can be asked for: 10 million trials take 80 MB.</summary>
    private const double MostTrials = 10_000_000;

    private readonly Option<string> _model = new("--model")
    {
        Description = "Model of the envelope: auto compares those that fit the motion and says why it chose.",
        HelpName = "auto|decay|decay-floor|rise|transient|drag|…",
    };

    private readonly Option<double?> _frequency = Number("--frequency", "HZ", "Oscillation frequency, for Q and what follows from it.", 0);
    private readonly Option<double?> _frequencyUncertainty = Number("--frequency-u", "HZ", "Its standard uncertainty.", 0, allowMinimum: true);
    private readonly Option<double?> _distance = Number("--distance", "MM", "Distance from mirror to ruler, for angles.", 0);
    private readonly Option<double?> _distanceUncertainty = Number("--distance-u", "MM", "Its standard uncertainty.", 0, allowMinimum: true);
    private readonly Option<double?> _from = Number("--from", "S", "Fit only from this time of the series on.");
    private readonly Option<double?> _to = Number("--to", "S", "Fit only up to this time of the series.");

    private readonly Option<FileInfo?> _steps = new("--steps")
    {
        Description = "The drive was stepped through resonance: a CSV file with the columns frequency_hz and start_s (s of the clip).",
        HelpName = "STEPS.csv",
    };

    private readonly Option<string> _switchTime = new("--switch-time")
    {
        Description = "When the drive was switched, in s of the series; \"fitted\" (the default) makes it a parameter of the fit, \"found\" "
            + "holds it at the change point of the series.",
        HelpName = "S|fitted|found",
    };

    private readonly Option<double?> _switchTimeUncertainty = Number("--switch-time-u", "S",
        "Standard uncertainty of a switch time that is given.", 0, allowMinimum: true);

    private readonly Option<string> _loss = new("--loss")
    {
        Description = "Points far off the curve are always named; \"auto\" gives them less weight where there are any, \"robust\" in any "
            + "case, \"least-squares\" never.",
        HelpName = "auto|robust|least-squares",
    };

    private readonly Option<double?> _bootstrap = Number("--bootstrap", "N",
        "Check the uncertainties by a block bootstrap of N series, at least 20; by default 400 where residuals are correlated. 0 for none.",
        0, allowMinimum: true);

    private readonly Option<double?> _monteCarlo = Number("--monte-carlo", "N",
        "Check the uncertainty budgets by N trials, at least 1000 (JCGM 101); 0 for as many as the results need to settle.", 0,
        allowMinimum: true);

    private readonly Option<double?> _seed = Number("--seed", "N", "Seed of bootstrap and Monte Carlo trials, a whole number. Default: 1.");

    private readonly Option<double?> _offsetUncertainty = Number("--offset-u", "MM",
        "Standard uncertainty of an offset that all amplitudes may share; for a clip it follows from the spot's width if not given.",
        0, allowMinimum: true);

    private readonly Option<double?> _timeScale = Number("--time-scale", "X",
        "Real seconds for each second of the file, below 1 for slow motion: 0.125 for 240 pictures a second stored as 30.", 0);

    private readonly Option<string> _reader = ReaderOption.Create();

    private readonly Option<string> _rulerClass = new("--ruler-class")
    {
        Description = "Accuracy class printed on the ruler (Directive 2014/32/EU); enters the uncertainty of lengths.",
        HelpName = "none|I|II|III",
    };

    private readonly Option<string> _ticks = new("--ticks")
    {
        Description = "Take the scale from the ruler's ticks, found in the picture between the marks (auto), or from the marks alone (off).",
        HelpName = "auto|off",
    };

    private readonly Option<double?> _threshold = Number("--threshold", "X",
        "Threshold of the streak's coarse ends, as a fraction of the brightness next to the end: 0.1 to 0.9; 0.5 if not given.", 0);

    private readonly Option<string> _exclude = new("--exclude")
    {
        Description = "Frames to leave out, for example 3,7,20-25.",
        HelpName = "FRAMES",
    };

    public SettingOptions()
    {
        _ticks.AcceptOnlyFromAmong("auto", "off");
        _rulerClass.AcceptOnlyFromAmong("none", "I", "II", "III");
        _loss.AcceptOnlyFromAmong("auto", "robust", "least-squares");
        _model.AcceptOnlyFromAmong("auto", "decay", "decay-floor", "decay-level", "rise", "transient", "drag", "dry-friction");
    }

    /// <summary>Adds the options that concern the clip.</summary>
    public void AddClipOptionsTo(Command command)
    {
        command.Options.Add(_reader);
        command.Options.Add(_timeScale);
        command.Options.Add(_rulerClass);
        command.Options.Add(_ticks);
        command.Options.Add(_threshold);
        command.Options.Add(_exclude);
    }

    /// <summary>Adds the options that concern photographs.</summary>
    public void AddPhotoOptionsTo(Command command)
    {
        _frequency.Description = "Oscillation frequency of all photographs without one in the table, to hold the exposures against.";
        _offsetUncertainty.Description = "Standard uncertainty of an offset that all amplitudes may share; it follows from the spot's width if not given.";
        command.Options.Add(_frequency);
        command.Options.Add(_distance);
        command.Options.Add(_distanceUncertainty);
        command.Options.Add(_rulerClass);
        command.Options.Add(_ticks);
        command.Options.Add(_threshold);
        command.Options.Add(_offsetUncertainty);
    }

    /// <summary>Adds the options that concern the fit and what follows from it.</summary>
    public void AddFitOptionsTo(Command command)
    {
        command.Options.Add(_model);
        command.Options.Add(_from);
        command.Options.Add(_to);
        command.Options.Add(_steps);
        command.Options.Add(_switchTime);
        command.Options.Add(_switchTimeUncertainty);
        command.Options.Add(_loss);
        command.Options.Add(_offsetUncertainty);
        command.Options.Add(_frequency);
        command.Options.Add(_frequencyUncertainty);
        command.Options.Add(_distance);
        command.Options.Add(_distanceUncertainty);
        command.Options.Add(_bootstrap);
        command.Options.Add(_monteCarlo);
        command.Options.Add(_seed);
    }

    /// <summary>The settings of this command line over those of an earlier record, or over the defaults.</summary>
    /// <exception cref="UsageException">The options do not make sense together.</exception>
    public AnalysisOptions Read(ParseResult parsed, AnalysisOptions start)
    {
        AnalysisOptions options = start with
        {
            Model = Given(parsed, _model) ?? start.Model,
            FrequencyHz = Given(parsed, _frequency) ?? start.FrequencyHz,
            FrequencyUncertaintyHz = Given(parsed, _frequencyUncertainty) ?? start.FrequencyUncertaintyHz,
            DistanceMm = Given(parsed, _distance) ?? start.DistanceMm,
            DistanceUncertaintyMm = Given(parsed, _distanceUncertainty) ?? start.DistanceUncertaintyMm,
            Reader = Given(parsed, _reader) ?? start.Reader,
            TimeScale = Given(parsed, _timeScale) ?? start.TimeScale,
            DriveSteps = Given(parsed, _steps) is FileInfo steps
                ? [.. DriveTable.Read(steps.FullName).Select(s => new DriveStepRecord(s.FrequencyHz, s.StartSeconds))] : start.DriveSteps,
            WindowStartS = Given(parsed, _from) ?? start.WindowStartS,
            WindowEndS = Given(parsed, _to) ?? start.WindowEndS,
            SwitchTimeUncertaintyS = Given(parsed, _switchTimeUncertainty) ?? start.SwitchTimeUncertaintyS,
            Loss = Given(parsed, _loss) ?? start.Loss,
            BootstrapReplicates = Whole(parsed, _bootstrap, least: 20) ?? start.BootstrapReplicates,
            MonteCarloTrials = Whole(parsed, _monteCarlo, least: 1000) ?? start.MonteCarloTrials,
            Seed = Whole(parsed, _seed, least: int.MinValue) ?? start.Seed,
            OffsetUncertaintyMm = Given(parsed, _offsetUncertainty) ?? start.OffsetUncertaintyMm,
            RulerClass = Given(parsed, _rulerClass) ?? start.RulerClass,
            Ticks = Given(parsed, _ticks) ?? start.Ticks,
            ThresholdFraction = Given(parsed, _threshold) ?? start.ThresholdFraction,
            ExcludedFrames = Given(parsed, _exclude) is string frames ? FrameList.Parse(frames) : start.ExcludedFrames,
        };

        if (Given(parsed, _switchTime) is string switchTime)
            options = WithSwitchTime(options, switchTime);

        if (options.WindowStartS >= options.WindowEndS)
        {
            throw new UsageException(string.Create(CultureInfo.InvariantCulture,
                $"The window is empty: --from {options.WindowStartS} is not before --to {options.WindowEndS}."));
        }

        if (!(options.ThresholdFraction is >= 0.1 and <= 0.9))
            throw new UsageException("Option '--threshold' must lie between 0.1 and 0.9.");
        if (options.FrequencyUncertaintyHz > 0 && options.FrequencyHz is null)
            throw new UsageException("--frequency-u needs --frequency.");
        if (options.DistanceUncertaintyMm > 0 && options.DistanceMm is null)
            throw new UsageException("--distance-u needs --distance.");
        if (options.SwitchTimeUncertaintyS > 0 && options.SwitchTimeS is null)
            throw new UsageException("--switch-time-u needs --switch-time with a number.");
        return options;
    }

    private static AnalysisOptions WithSwitchTime(AnalysisOptions options, string text)
    {
        if (text is "fitted" or "found")
            return options with { SwitchTimeS = null, SwitchTimeSource = text };
        if (double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double seconds) && double.IsFinite(seconds))
            return options with { SwitchTimeS = seconds };
        throw new UsageException($"Option '--switch-time' needs a number in s, with '.' as decimal sign, or fitted, or found; got '{text}'.");
    }

    /// <summary>A whole number that is 0 or at least as large as asked for; null when the option is not given.</summary>
    private static int? Whole(ParseResult parsed, Option<double?> option, int least)
    {
        if (Given(parsed, option) is not double value)
            return null;
        return value == Math.Floor(value) && Math.Abs(value) <= MostTrials && (value == 0 || value >= least)
            ? (int)value
            : throw new UsageException(string.Create(CultureInfo.InvariantCulture,
                $"Option '{option.Name}' needs a whole number up to {MostTrials:0}{(least > 0 ? $", 0 or at least {least}" : "")}; got {value}."));
    }

    // Not every command has every option; one that it lacks counts as not given.
    private static T? Given<T>(ParseResult parsed, Option<T> option) =>
        parsed.GetResult(option) is { Implicit: false } ? parsed.GetValue(option) : default;

    /// <summary>An option that takes a number with a unit, in invariant notation.</summary>
    public static Option<double?> Number(string name, string unit, string description, double? minimum = null, bool allowMinimum = false)
    {
        return new Option<double?>(name)
        {
            Description = description,
            HelpName = unit,
            CustomParser = result =>
            {
                string text = result.Tokens.Count == 1 ? result.Tokens[0].Value : "";
                bool isNumber = double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out double value)
                    && double.IsFinite(value);
                if (!isNumber)
                    result.AddError($"Option '{name}' needs a number in {unit.ToLowerInvariant()}, with '.' as decimal sign; got '{text}'.");
                else if (minimum is double least && !(value > least || (allowMinimum && value == least)))
                    result.AddError($"Option '{name}' must be {(allowMinimum ? "at least" : "greater than")} {least}; got {text}.");
                return isNumber ? value : null;
            },
        };
    }
}
