using System.CommandLine;
using StreakTrack.Cli.Commands;
using StreakTrack.Core;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Cli;

/// <summary>The <c>streaktrack</c> command: parses, runs, and turns every failure into a message and an exit code.</summary>
internal static class CommandLine
{
    /// <summary>How long a command that is asked to end may take to come to a place where it can.</summary>
    private static readonly TimeSpan EndingTime = TimeSpan.FromSeconds(10);

    /// <summary>What the parser's library returns, beside <see cref="ExitCode.Interrupted"/> for Ctrl-C, when a command asked to end by
    /// SIGTERM (128 + 15) was still at work after that time.</summary>
    private const int Terminated = 143;

    /// <summary>Runs one command line.</summary>
    /// <param name="args">The arguments after the program's name.</param>
    /// <param name="streams">Where to write.</param>
    /// <param name="cancellationToken">Stops the work, as Ctrl-C does.</param>
    /// <returns>One of <see cref="ExitCode"/>.</returns>
    public static async Task<int> RunAsync(string[] args, CommandStreams streams, CancellationToken cancellationToken = default)
    {
        RootCommand root = BuildRoot(streams);
        ParseResult parsed = root.Parse(args);
        if (parsed.Errors.Count > 0 && parsed.Action is not ExampleHelp)
        {
            foreach (string message in parsed.Errors.Select(e => e.Message).Distinct())
                streams.Error.WriteLine($"streaktrack: {message}");
            streams.Error.WriteLine($"Try '{CommandPath(parsed)} --help'.");
            return ExitCode.Usage;
        }

        try
        {
            var configuration = new InvocationConfiguration
            {
                Output = streams.Output,
                Error = streams.Error,
                EnableDefaultExceptionHandler = false,
                ProcessTerminationTimeout = EndingTime,
            };
            int code = await parsed.InvokeAsync(configuration, cancellationToken);
            if (code is not (Terminated or ExitCode.Interrupted))
                return code;
            streams.Error.WriteLine("streaktrack: interrupted in the middle of a step, whose results are missing or not whole. What was finished before it stands.");
            return ExitCode.Interrupted;
        }
        catch (OperationCanceledException)
        {
            streams.Error.WriteLine("streaktrack: interrupted.");
            return ExitCode.Interrupted;
        }
        catch (UsageException e)
        {
            streams.Error.WriteLine($"streaktrack: {e.Message}");
            streams.Error.WriteLine($"Try '{CommandPath(parsed)} --help'.");
            return ExitCode.Usage;
        }
        catch (UnusableInputException e)
        {
            streams.Error.WriteLine($"streaktrack: {e.Message}");
            return ExitCode.UnusableInput;
        }
        catch (MissingComponentException e)
        {
            streams.Error.WriteLine($"streaktrack: {e.Message}");
            return ExitCode.Machine;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            streams.Error.WriteLine($"streaktrack: {e.Message} Check that the place exists, is writable and has room.");
            return ExitCode.Machine;
        }
        catch (Exception e)
        {
            // A fault of ours that some input brought to light. Whoever runs a whole class unattended needs a line and an exit code.
            streams.Error.WriteLine($"streaktrack: this input led to a fault of the program ({e.GetType().Name}: {e.Message}). "
                + "Please report it with the input.");
            return ExitCode.UnusableInput;
        }
    }

    private static RootCommand BuildRoot(CommandStreams streams)
    {
        var root = new RootCommand(
            "Measures the laser streak of a torsional oscillator in a phone clip and fits its decay, rise or transient.")
        {
            AnalyzeCommand.Create(streams),
            PhotosCommand.Create(streams),
            FitCommand.Create(streams),
            StudyCommands.Resonance(streams),
            StudyCommands.Stiffness(streams),
            StudyCommands.Damping(streams),
            InfoCommand.Create(streams),
            VerifyCommands.Verify(streams),
            VerifyCommands.Grade(streams),
            VerifyCommands.JudgeOne(),
            ReferenceCommand.Create(streams),
            SynthCommand.Create(streams),
            OpenCommand.Create(streams),
            DemoCommand.Create(streams),
        };

        // Without a command there is nothing to do; the help says what could be done.
        root.SetAction(parsed =>
        {
            streams.Error.WriteLine("streaktrack: no command given. Try 'streaktrack --help'.");
            return ExitCode.Usage;
        });

        ExampleHelp.AddTo(root,
            "streaktrack demo                                      makes two clips of its own and analyses them",
            "streaktrack open clip.mp4                             the whole job on a page in the browser",
            "streaktrack info clip.mp4                             what is in this clip",
            "streaktrack analyze clip.mp4 --marks marks.csv --out result");
        return root;
    }

    private static string CommandPath(ParseResult parsed)
    {
        var names = new Stack<string>();
        for (System.CommandLine.Parsing.SymbolResult? at = parsed.CommandResult; at is not null; at = at.Parent)
        {
            if (at is System.CommandLine.Parsing.CommandResult command)
                names.Push(command.Command is RootCommand ? "streaktrack" : command.Command.Name);
        }

        return string.Join(' ', names);
    }
}
