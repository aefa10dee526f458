using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Tests.Clips;

public class FrameReaderTests
{
    // The readers promise 0.1 ms.
    private const double TimeToleranceSeconds = 1e-4;

    public static TheoryData<string, ReaderChoice> ClipsAndReaders()
    {
        var data = new TheoryData<string, ReaderChoice>();
        foreach (string name in SmallClips.Small.Concat(SmallClips.Large))
        {
            data.Add(name, ReaderChoice.Ffmpeg);
            data.Add(name, ReaderChoice.Embedded);
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(ClipsAndReaders))]
    public void Frame_times_are_those_that_ffprobe_tells(string name, ReaderChoice choice)
    {
        ClipFacts facts = ClipFile.Inspect(SmallClips.PathOf(name));
        using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = choice, Region = new PixelRegion(0, 0, 16, 16) });
        double[] expected = SmallClips.Times(name);
        var frame = new RawFrame();
        for (int i = 0; i < expected.Length; i++)
        {
            Assert.True(reader.TryRead(frame), $"ended after {i} of {expected.Length} frames");
            Assert.Equal(i, frame.Index);
            Assert.Equal(expected[i], frame.TimeSeconds, TimeToleranceSeconds);
        }

        Assert.False(reader.TryRead(frame));
        Assert.Equal(0, reader.LostFrames);
    }
}
