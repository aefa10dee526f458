using System.Text.Json;
using StreakTrack.Core;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;

namespace StreakTrack.Worksheet.Serving;

/// <summary>A request that only says which version it was made to.</summary>
internal sealed record VersionRequest(int Version);

/// <summary>Where a tick is looked for.</summary>
internal sealed record SnapRequest(double UPx, double VPx, double ReachPx = 8);

/// <summary>All marks, in place of those before.</summary>
internal sealed record MarksRequest(int Version, IReadOnlyList<MarkRecord> Marks);

/// <summary>A frame to leave out with a reason, or to take in again.</summary>
internal sealed record ExcludeRequest(int Version, int Frame, bool Exclude, string? Reason)
{
    /// <summary>The settings with this change.</summary>
    public AnalysisOptions Over(AnalysisOptions options)
    {
        var frames = new SortedSet<int>(options.ExcludedFrames);
        var reasons = new SortedDictionary<int, string>(options.ExclusionReasons.ToDictionary());
        frames.Remove(Frame);
        reasons.Remove(Frame);
        if (Exclude)
            frames.Add(Frame);
        if (Exclude && !string.IsNullOrWhiteSpace(Reason))
            reasons[Frame] = Reason.Trim();
        return options with { ExcludedFrames = [.. frames], ExclusionReasons = reasons };
    }
}

/// <summary>Settings to change, by their names in the record; settings not named stay.</summary>
internal sealed record OptionsRequest(int Version, JsonElement Options)
{
    private static readonly string[] RulerClasses = ["none", "I", "II", "III"];

    /// <summary>The settings with this change.</summary>
    /// <exception cref="UnusableInputException">One is out of its range.</exception>
    public AnalysisOptions Over(AnalysisOptions options)
    {
        foreach (JsonProperty option in Options.EnumerateObject())
        {
            JsonElement value = option.Value;
            options = option.Name switch
            {
                "model" => options with { Model = OneOf(value, [EnvelopeFitOptions.AutomaticModel, .. EnvelopeModels.Names]) },
                "frequency_hz" => options with { FrequencyHz = Positive(value, "The frequency") },
                "frequency_uncertainty_hz" => options with { FrequencyUncertaintyHz = NotNegative(value, "The frequency's uncertainty") ?? 0 },
                "distance_mm" => options with { DistanceMm = Positive(value, "The distance") },
                "distance_uncertainty_mm" => options with { DistanceUncertaintyMm = NotNegative(value, "The distance's uncertainty") ?? 0 },
                "time_scale" => options with { TimeScale = Positive(value, "The time scale") ?? 1 },
                "window_start_s" => options with { WindowStartS = Number(value, "The window's beginning") },
                "window_end_s" => options with { WindowEndS = Number(value, "The window's end") },
                "switch_time_s" => options with { SwitchTimeS = Number(value, "The switch time") },
                "threshold_fraction" => options with { ThresholdFraction = Between(value, 0.1, 0.9, "The threshold") ?? 0.5 },
                "band_offset_px" => options with { BandOffsetPx = Between(value, -10000, 10000, "The band's place") ?? 0 },
                "band_half_width_px" => options with { BandHalfWidthPx = (int?)Between(value, 4, 10000, "Half the band's width") },
                "ruler_class" => options with { RulerClass = OneOf(value, RulerClasses) },
                _ => throw new UnusableInputException("the settings", $"there is none called {option.Name}", "Reload the page."),
            };
        }

        if (options.WindowStartS >= options.WindowEndS)
            throw new UnusableInputException("the window", "it ends before it begins", "Move one of its ends.");
        return options with
        {
            FrequencyUncertaintyHz = options.FrequencyHz is null ? 0 : options.FrequencyUncertaintyHz,
            DistanceUncertaintyMm = options.DistanceMm is null ? 0 : options.DistanceUncertaintyMm,
        };
    }

    private static string OneOf(JsonElement value, IReadOnlyList<string> known) =>
        value.ValueKind == JsonValueKind.String && known.Contains(value.GetString()!)
            ? value.GetString()!
            : throw new UnusableInputException("the settings", $"'{value}' is not one of {string.Join(", ", known)}", "Choose one of these.");

    private static double? Number(JsonElement value, string name)
    {
        if (value.ValueKind == JsonValueKind.Null)
            return null;
        return value.ValueKind == JsonValueKind.Number && value.TryGetDouble(out double number) && double.IsFinite(number)
            ? number
            : throw new UnusableInputException(name, "this is no number", "Type a number with '.' as decimal sign.");
    }

    private static double? Positive(JsonElement value, string name) =>
        Number(value, name) is not double number ? null
            : number > 0 ? number : throw new UnusableInputException(name, "it must be greater than 0", "Correct it.");

    private static double? NotNegative(JsonElement value, string name) =>
        Number(value, name) is not double number ? null
            : number >= 0 ? number : throw new UnusableInputException(name, "it must not be negative", "Correct it.");

    private static double? Between(JsonElement value, double least, double most, string name) =>
        Number(value, name) is not double number ? null
            : number >= least && number <= most
                ? number
                : throw new UnusableInputException(name, FormattableString.Invariant($"it must lie between {least} and {most}"), "Correct it.");
}
