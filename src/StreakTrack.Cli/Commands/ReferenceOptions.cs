using System.CommandLine;
using StreakTrack.Core.References;

namespace StreakTrack.Cli.Commands;

/// <summary>The options that name a reference to hold submissions against.</summary>
internal sealed class ReferenceOptions
{
    private readonly Option<string?> _reference = new("--reference")
    {
        Description = "Reference of the instrument, as streaktrack reference made it, to hold the decay time against.",
        HelpName = "REF",
    };

    private readonly Option<double?> _setting = SettingOptions.Number("--setting", "X", "The reference's setting, where it has several.");

    public void AddTo(Command command)
    {
        command.Options.Add(_reference);
        command.Options.Add(_setting);
    }

    /// <summary>Whether any of them was given.</summary>
    public bool IsNamed(ParseResult parsed) => parsed.GetValue(_reference) is not null || parsed.GetValue(_setting) is not null;

    /// <summary>Full path of the reference; null when none was named.</summary>
    public string? PathOf(ParseResult parsed) => parsed.GetValue(_reference) is string path ? Path.GetFullPath(path) : null;

    /// <summary>The setting that was named; null for none.</summary>
    public double? SettingOf(ParseResult parsed) => parsed.GetValue(_setting);

    /// <summary>Reads the reference; null when none was named.</summary>
    /// <exception cref="Core.UnusableInputException">It cannot be used, or has no such setting.</exception>
    public ReferenceTarget? Read(ParseResult parsed)
    {
        if (PathOf(parsed) is string path)
            return ReferenceTarget.Of(ReferenceJson.Read(path), SettingOf(parsed), path);
        return SettingOf(parsed) is null ? null : throw new UsageException("--setting belongs to --reference.");
    }
}
