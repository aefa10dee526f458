using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Tests.Clips;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Imaging.Tests.Streaks;

public class ThreadCountTests
{
    // All parallel loops of the measurement run on the scheduler of their caller, so it sets how many of them run at a time.
    [Fact]
    public async Task The_record_is_the_same_to_the_last_digit_on_one_thread_and_on_eight()
    {
        string clip = SmallClips.PathOf("ringdown_dark_720p30"), marks = Fixtures.PathOf("clips", "ringdown_dark_720p30", "marks.csv");
        string one = await RecordOn(new ConcurrentExclusiveSchedulerPair().ExclusiveScheduler);
        string eight = await RecordOn(new ConcurrentExclusiveSchedulerPair(TaskScheduler.Default, 8).ConcurrentScheduler);
        Assert.Equal(one, eight);

        Task<string> RecordOn(TaskScheduler scheduler) => Task.Factory.StartNew(
            () => RecordJson.Write(ClipAnalyzer.Analyze(clip, MarksCsv.Read(marks), new AnalysisOptions()).Record),
            CancellationToken.None, TaskCreationOptions.None, scheduler);
    }
}
