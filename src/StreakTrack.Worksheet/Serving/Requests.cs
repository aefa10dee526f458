using System.Text.Json;
using StreakTrack.Core;
using StreakTrack.Core.Records;

namespace StreakTrack.Worksheet.Serving;

/// <summary>A request that only says which version it was made to.</summary>
internal sealed record VersionRequest(int Version);

/// <summary>Where a tick is looked for.</summary>
internal sealed record SnapRequest(double UPx, double VPx, double ReachPx = 8);

/// <summary>All marks, in place of those before.</summary>
internal sealed record MarksRequest(int Version, IReadOnlyList<MarkRecord> Marks);

/// <summary>A frame to leave out with a reason, or to take in again.</summary>
internal sealed record ExcludeRequest(int Version, int Frame, bool Exclude, string? Reason = null)
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

/// <summary>Settings to change, by their names in the record; settings not named stay, and null takes one back to its default.</summary>
internal sealed record OptionsRequest(int Version, JsonElement Options)
{
    // What the page has other requests for, and the reader, which the worksheet was started with.
    private static readonly string[] OfOtherRequests = ["reader", "band_marks", "excluded_frames", "exclusion_reasons"];

    /// <summary>The settings with this change.</summary>
    /// <exception cref="UnusableInputException">There is no such setting, or one is out of its range.</exception>
    public AnalysisOptions Over(AnalysisOptions options)
    {
        const string subject = "the settings";
        if (Options.ValueKind == JsonValueKind.Object && Options.EnumerateObject().Select(o => o.Name).FirstOrDefault(OfOtherRequests.Contains) is string name)
            throw new UnusableInputException(subject, $"{name} is not changed this way", "Reload the page.");
        AnalysisOptions changed = RecordJson.WithSettings(options, Options, subject);
        return changed with
        {
            FrequencyUncertaintyHz = changed.FrequencyHz is null ? 0 : changed.FrequencyUncertaintyHz,
            DistanceUncertaintyMm = changed.DistanceMm is null ? 0 : changed.DistanceUncertaintyMm,
            SwitchTimeUncertaintyS = changed.SwitchTimeS is null ? 0 : changed.SwitchTimeUncertaintyS,
        };
    }
}
