using System.CommandLine;

namespace StreakTrack.Cli.Commands;

/// <summary><c>--reader</c>, for all commands that decode clips.</summary>
internal static class ReaderOption
{
    /// <summary>The option, without a default: not given means that the settings of a record stand.</summary>
    public static Option<string> Create()
    {
        var option = new Option<string>("--reader")
        {
            Description = "Clip reader: the ffmpeg program where installed, or the embedded decoder.",
            HelpName = "auto|ffmpeg|embedded",
        };
        option.AcceptOnlyFromAmong("auto", "ffmpeg", "embedded");
        return option;
    }

    /// <summary>The option for commands that begin with no settings.</summary>
    public static Option<string> CreateWithDefault()
    {
        Option<string> option = Create();
        option.DefaultValueFactory = _ => "auto";
        return option;
    }
}
