using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Tests.Clips;

public class FrameReaderTests
{
    // The readers promise 0.1 ms.
    private const double TimeToleranceSeconds = 1e-4;

    // The embedded decoder's conversion is up to 3 codes off (its own rounding, and the way to BGR and back); the steepest slope of the
    // BT.709 curve is 2.2, so light may be off by 3 / 255 * 2.2.
    private const double LumaToleranceLight = 0.026;

    // Colour samples are repeated instead of interpolated: single pixels at edges differ, but the picture does not. 0.012 was measured
    // where a clipped streak makes the hardest edges, and below 0.01 elsewhere.
    private const double ColourRmsToleranceLight = 0.02;

    public static TheoryData<string, ReaderChoice> SmallClipsAndReaders()
    {
        var data = new TheoryData<string, ReaderChoice>();
        foreach (string name in SmallClips.Small)
        {
            data.Add(name, ReaderChoice.Ffmpeg);
            data.Add(name, ReaderChoice.Embedded);
        }

        return data;
    }

    public static TheoryData<string> LargeClips() => [.. SmallClips.Large];

    [Theory]
    [MemberData(nameof(SmallClipsAndReaders))]
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

    [Theory]
    [MemberData(nameof(LargeClips))]
    public void Both_readers_agree_with_ffprobe_in_times_and_with_each_other_in_light(string name)
    {
        const int comparedEvery = 90;
        ClipFacts facts = ClipFile.Inspect(SmallClips.PathOf(name));
        DisplayOrientation size = facts.Orientation;
        PixelRegion region = size.SwapsAxes
            ? new PixelRegion((size.CodedWidth / 2) - 100, 0, 200, size.CodedHeight)
            : new PixelRegion(0, (size.CodedHeight / 2) - 100, size.CodedWidth, 200);
        using IFrameReader program = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = ReaderChoice.Ffmpeg, Region = region });
        using IFrameReader embedded = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = ReaderChoice.Embedded, Region = region });
        double[] expected = SmallClips.Times(name);
        RawFrame one = new(), other = new();
        for (int i = 0; i < expected.Length; i++)
        {
            Assert.True(program.TryRead(one) && embedded.TryRead(other), $"ended after {i} of {expected.Length} frames");
            Assert.Equal(expected[i], one.TimeSeconds, TimeToleranceSeconds);
            Assert.Equal(expected[i], other.TimeSeconds, TimeToleranceSeconds);
            Assert.Equal(one.Region, other.Region);
            if (i % comparedEvery != 0)
                continue;
            foreach (LightChannel channel in Enum.GetValues<LightChannel>())
            {
                (double rms, double max) = Difference(Light(program, one, channel), Light(embedded, other, channel), other.Plane0);
                Assert.True(rms <= ColourRmsToleranceLight, $"frame {i}, {channel}: rms {rms}");
                if (channel == LightChannel.Luma)
                    Assert.True(max <= LumaToleranceLight, $"frame {i}, luma: {max}");
            }
        }

        Assert.False(program.TryRead(one) || embedded.TryRead(other));
        Assert.Equal((0, 0), (program.LostFrames, embedded.LostFrames));
    }

    private static float[] Light(IFrameReader reader, RawFrame frame, LightChannel channel)
    {
        float[] light = new float[frame.Region.Width * frame.Region.Height];
        new LinearLight(reader.Colour, channel).Convert(frame, light);
        return light;
    }

    // Without the pixels that were cut off at 0 or 255 on their way through BT.601: what they were cannot be known.
    private static (double Rms, double Max) Difference(float[] one, float[] other, byte[] bgr)
    {
        double sum = 0, max = 0;
        int compared = 0;
        for (int i = 0; i < one.Length; i++)
        {
            if (bgr.AsSpan(3 * i, 3).IndexOfAny<byte>(0, 255) >= 0)
                continue;
            double difference = Math.Abs(one[i] - other[i]);
            sum += difference * difference;
            max = Math.Max(max, difference);
            compared++;
        }

        Assert.True(compared > one.Length / 2, $"only {compared} of {one.Length} pixels could be compared");
        return (Math.Sqrt(sum / compared), max);
    }
}
