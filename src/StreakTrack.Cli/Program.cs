using StreakTrack.Cli;

return await CommandLine.RunAsync(args, new CommandStreams(Console.Out, Console.Error));
