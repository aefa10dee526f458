using System.CommandLine;
using StreakTrack.Cli.Terminal;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Cli.Commands;

/// <summary><c>streaktrack info</c>: what is in a clip.</summary>
internal static class InfoCommand
{
    /// <summary>The command.</summary>
    public static Command Create(CommandStreams streams)
    {
        var clip = new Argument<FileInfo>("CLIP") { Description = "The clip: MP4, MOV, MKV, WebM or AVI." };
        var decode = new Option<bool>("--decode") { Description = "Decode the clip, which shows damaged frames, rather than trust the file's index." };
        var times = new Option<bool>("--times") { Description = "Decode the clip and print the time of every frame, as CSV." };
        Option<string> reader = ReaderOption.CreateWithDefault();

        var command = new Command("info", "Say what is in a clip: codec, size, rotation, frame times and their regularity.") { clip, decode, times, reader };
        command.SetAction((parsed, cancellationToken) => Task.Run(() =>
        {
            ClipFacts facts = ClipFile.Inspect(parsed.GetRequiredValue(clip).FullName, cancellationToken);
            bool trusted = !parsed.GetValue(decode) && !parsed.GetValue(times) && parsed.GetResult(reader) is null or { Implicit: true };
            if (trusted && FrameTimes.Announced(facts, cancellationToken) is { } announced)
            {
                ClipSheet.Write(facts, announced, streams.Output);
                return ExitCode.Done;
            }

            ReaderChoice choice = Enum.Parse<ReaderChoice>(parsed.GetValue(reader)!, ignoreCase: true);
            FrameTimes decoded;
            using (var progress = new ProgressLine(streams))
                decoded = FrameTimes.Read(facts, choice, progress, cancellationToken);

            if (parsed.GetValue(times))
                decoded.WriteCsv(streams.Output);
            else
                ClipSheet.Write(facts, decoded, streams.Output);
            return ExitCode.Done;
        }, cancellationToken));
        ExampleHelp.AddTo(command, "streaktrack info clip.mp4", "streaktrack info clip.mp4 --decode", "streaktrack info clip.mp4 --times > times.csv");
        return command;
    }
}
