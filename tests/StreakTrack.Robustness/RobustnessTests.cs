using StreakTrack.Cli;
using StreakTrack.Core;
using StreakTrack.Core.Records;
using StreakTrack.Imaging.Clips;
using StreakTrack.Robustness.Faults;
using StreakTrack.Robustness.Fuzzing;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Robustness;

/// <summary>The small part that must always hold; docs/robustness.md keeps the figures of the long run.</summary>
public class RobustnessTests
{
    [Fact]
    public async Task Mutants_are_taken_with_finite_numbers_or_refused_with_a_message()
    {
        using var sandbox = new Sandbox();
        foreach (FuzzTarget target in await FuzzTargets.AllAsync(sandbox))
        {
            FuzzCount count = await Fuzzer.RunAsync(target, sandbox, firstSeed: 0, FuzzTargets.LongRun(target) / 100);
            Assert.True(count.Faults.Count == 0, $"{count.What}: {string.Join("\n", count.Faults)}");
            Assert.Equal(count.Inputs, count.Taken + count.Refused);
            Assert.NotEqual(0, count.Refused);
        }
    }

    [Theory]
    [InlineData("plain.mp4", ReaderChoice.Embedded, 60)]
    [InlineData("uneven.mkv", ReaderChoice.Embedded, 60)]
    [InlineData("plain.mp4", ReaderChoice.Ffmpeg, 8)]
    public void Mutated_clips_are_decoded_or_refused_and_crash_no_process(string clip, ReaderChoice reader, int count)
    {
        FuzzCount result = DecodeWorker.Count(Fixtures.PathOf("clips-small", clip), reader, firstSeed: -1, count);
        Assert.True(result.Faults.Count == 0, string.Join("\n", result.Faults));
        Assert.Equal(count, result.Inputs);
        Assert.NotEqual(0, result.Taken);
    }

    [Fact]
    public async Task Files_that_once_led_to_a_fault_are_taken_or_refused()
    {
        string[] files = Directory.GetFiles(Fixtures.PathOf("hostile"));
        string folder = Directory.CreateTempSubdirectory("streaktrack-hostile-").FullName;
        foreach (string table in files.Where(f => f.EndsWith(".csv", StringComparison.Ordinal)))
        {
            using var error = new StringWriter();
            string command = Path.GetFileName(table).StartsWith("series_", StringComparison.Ordinal) ? "fit" : "damping";
            Assert.Equal(ExitCode.UnusableInput, await CommandLine.RunAsync([command, table, "--out", folder], new CommandStreams(TextWriter.Null, error)));
            Assert.DoesNotContain("fault of the program", error.ToString(), StringComparison.Ordinal);
        }

        foreach (string record in files.Where(f => f.EndsWith(".json", StringComparison.Ordinal)))
        {
            if (Path.GetFileName(record).StartsWith("taken_", StringComparison.Ordinal))
            {
                // What can be read can be written again: nothing in it is missing.
                AnalysisRecord taken = RecordJson.Read(record);
                Assert.Equal(1, taken.Options.TimeScale);
                Assert.Equal(taken.Options, RecordJson.Parse(RecordJson.Write(taken), record).Options with
                {
                    BandMarks = taken.Options.BandMarks, DriveSteps = taken.Options.DriveSteps, ExcludedFrames = taken.Options.ExcludedFrames, ExclusionReasons = taken.Options.ExclusionReasons,
                });
            }
            else
                Assert.Throws<UnusableInputException>(() => RecordJson.Read(record));
        }

        Assert.True(files.Length > 10);
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task Faults_of_the_machine_leave_no_half_result_and_are_told()
    {
        Assert.True(OperatingSystem.IsLinux(), "these faults are brought about by means of Linux");
        using var cases = new FaultCases();
        foreach ((string name, Func<Task<FaultResult>> run) in cases.All(kills: 4))
        {
            FaultResult result = await run();
            Assert.True(result.Problems.Count == 0, $"{name}: {string.Join("; ", result.Problems)}; {result.Message}");
        }
    }
}
