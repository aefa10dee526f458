using System.CommandLine;
using System.CommandLine.Help;
using System.CommandLine.Invocation;

namespace StreakTrack.Cli;

/// <summary>Help that ends with examples: the quickest way to learn a command is to see it used.</summary>
internal sealed class ExampleHelp(HelpAction inner, IReadOnlyList<string> examples) : SynchronousCommandLineAction
{
    /// <summary>Gives a command a <c>--help</c> with examples.</summary>
    public static void AddTo(Command command, params string[] examples)
    {
        HelpOption? option = command.Options.OfType<HelpOption>().FirstOrDefault();
        if (option is null)
        {
            option = new HelpOption();
            command.Options.Add(option);
        }

        option.Action = new ExampleHelp((HelpAction)option.Action!, examples);
    }

    public override int Invoke(ParseResult parseResult)
    {
        int code = inner.Invoke(parseResult);
        TextWriter output = parseResult.InvocationConfiguration.Output;
        output.WriteLine("Examples:");
        foreach (string example in examples)
            output.WriteLine("  " + example);
        return code;
    }
}
