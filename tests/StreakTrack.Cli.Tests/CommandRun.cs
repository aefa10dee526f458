namespace StreakTrack.Cli.Tests;

/// <summary>Runs a command line in this process and keeps exit code, standard output and standard error apart.</summary>
internal sealed record CommandRun(int ExitCode, string Output, string Error)
{
    public static async Task<CommandRun> OfAsync(params string[] args)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        int code = await CommandLine.RunAsync(args, new CommandStreams(output, error));
        return new CommandRun(code, output.ToString(), error.ToString());
    }
}
