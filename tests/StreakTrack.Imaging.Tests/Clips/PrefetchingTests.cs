using StreakTrack.Core.Findings;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Tests.Clips;

public class PrefetchingTests
{
    [Theory]
    [InlineData(ReaderChoice.Ffmpeg)]
    [InlineData(ReaderChoice.Embedded)]
    public void Reading_ahead_delivers_the_same_frames(ReaderChoice choice)
    {
        ClipFacts facts = ClipFile.Inspect(SmallClips.PathOf("uneven.mp4"));
        var options = new FrameReaderOptions { Reader = choice };
        using IFrameReader plain = ClipFile.OpenReader(facts, options with { ReadAhead = 0 });
        using IFrameReader ahead = ClipFile.OpenReader(facts, options with { ReadAhead = 2 });
        RawFrame one = new(), other = new();
        while (plain.TryRead(one))
        {
            Assert.True(ahead.TryRead(other));
            Assert.Equal((one.Index, one.TimeSeconds, one.Region, one.Layout), (other.Index, other.TimeSeconds, other.Region, other.Layout));
            Assert.True(one.Plane0.AsSpan().SequenceEqual(other.Plane0), $"pixels differ in frame {one.Index}");
            Assert.True(one.Plane1.AsSpan().SequenceEqual(other.Plane1), $"colours differ in frame {one.Index}");
        }

        Assert.False(ahead.TryRead(other));
        Assert.False(ahead.TryRead(other));
        Assert.Equal(plain.Name, ahead.Name);
        Assert.Equal(plain.LostFrames, ahead.LostFrames);
    }

    [Fact]
    public void No_buffers_are_made_while_reading()
    {
        ClipFacts facts = ClipFile.Inspect(SmallClips.PathOf("plain.mp4"));
        using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { ReadAhead = 3 });
        var frame = new RawFrame();
        var buffers = new HashSet<byte[]>(ReferenceEqualityComparer.Instance);
        while (reader.TryRead(frame))
            buffers.Add(frame.Plane0);
        Assert.InRange(buffers.Count, 1, 4);
    }

    [Fact]
    public void An_error_comes_after_the_frames_before_it()
    {
        using var reader = new PrefetchingFrameReader(new FailingReader(goodFrames: 5), 2);
        var frame = new RawFrame();
        for (int i = 0; i < 5; i++)
        {
            Assert.True(reader.TryRead(frame));
            Assert.Equal(i, frame.Index);
        }

        Assert.Equal("broken", Assert.Throws<InvalidDataException>(() => reader.TryRead(frame)).Message);
    }

    [Fact]
    public void A_reader_can_be_left_before_the_end()
    {
        var inner = new FailingReader(goodFrames: int.MaxValue);
        using (var reader = new PrefetchingFrameReader(inner, 2))
            Assert.True(reader.TryRead(new RawFrame()));
        Assert.True(inner.Disposed);
    }

    [Fact]
    public void Colour_is_asked_of_the_inner_reader_only_before_its_thread_reads()
    {
        var inner = new FailingReader(goodFrames: 3);
        using var reader = new PrefetchingFrameReader(inner, 2);
        Assert.True(reader.TryRead(new RawFrame()));

        Assert.Equal(ColourMatrix.Bt709, reader.Colour.Matrix);
        Assert.False(inner.ColourAskedWhileReading);
    }

    private sealed class FailingReader(int goodFrames) : IFrameReader
    {
        private int _read;

        public bool ColourAskedWhileReading { get; private set; }

        public bool Disposed { get; private set; }

        public string Name => "failing";

        public ColourDescription Colour
        {
            get
            {
                ColourAskedWhileReading |= _read > 0;
                return new(ColourMatrix.Bt709, false, TransferFunction.Bt709, true, false);
            }
        }

        public int LostFrames => 0;

        public IReadOnlyList<Finding> Findings => [];

        public bool TryRead(RawFrame frame)
        {
            if (_read == goodFrames)
                throw new InvalidDataException("broken");
            frame.Index = _read++;
            return true;
        }

        public void Dispose() => Disposed = true;
    }
}
