namespace StreakTrack.Cli;

/// <summary>Where a command writes: results to one stream, talk to the other.</summary>
/// <param name="Output">Results, for people and for pipes.</param>
/// <param name="Error">Progress, remarks and errors.</param>
internal sealed record CommandStreams(TextWriter Output, TextWriter Error)
{
    /// <summary>Whether a person sees <see cref="Error"/> on a terminal, so that a line may be redrawn.</summary>
    public bool ErrorIsTerminal { get; init; } =
        ReferenceEquals(Error, Console.Error) && !Console.IsErrorRedirected && Environment.GetEnvironmentVariable("TERM") != "dumb";
}
