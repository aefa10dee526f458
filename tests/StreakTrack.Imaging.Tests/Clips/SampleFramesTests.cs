using StreakTrack.Imaging.Clips;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Imaging.Tests.Clips;

public class SampleFramesTests
{
    [Theory]
    [InlineData("ringdown_lit_1080p30/clip.mp4", 5)]
    [InlineData("ringdown_lit_1080p30/clip.mp4", 24)]
    [InlineData("portrait_hevc_vfr/clip.mov", 24)]
    [InlineData("sweep_540p30/clip.mp4", 16)]
    public void Samples_have_times_that_are_frame_times_and_the_pixels_of_those_frames(string clip, int count)
    {
        ClipFacts facts = ClipFile.Inspect(Fixtures.PathOf("clips", clip));
        var region = new PixelRegion(100, 200, 200, 40);
        IReadOnlyList<RawFrame> samples = ClipFile.SampleFrames(facts, count, region, ReaderChoice.Auto, CancellationToken.None).Frames;

        Assert.InRange(samples.Count, (count + 1) / 2, count);
        var byTime = samples.ToDictionary(s => s.TimeSeconds);
        using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Region = region });
        var frame = new RawFrame();
        double last = 0;
        while (reader.TryRead(frame))
        {
            last = frame.TimeSeconds;
            if (byTime.Remove(frame.TimeSeconds, out RawFrame? sample))
            {
                Assert.Equal(frame.Region, sample.Region);
                Assert.True(frame.Plane0.AsSpan().SequenceEqual(sample.Plane0), "pixels differ");
            }
        }

        Assert.Empty(byTime);

        // Spread over the clip: no gap longer than three times the even spacing.
        double[] times = [facts.StartSeconds, .. samples.Select(s => s.TimeSeconds), last];
        double longest = times.Zip(times.Skip(1), (a, b) => b - a).Max();
        Assert.True(longest <= 3 * (last - facts.StartSeconds) / samples.Count, $"longest gap {longest} s");
    }
}
