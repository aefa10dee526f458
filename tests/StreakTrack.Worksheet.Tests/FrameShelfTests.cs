using StreakTrack.Imaging.Clips;
using StreakTrack.Tests.Shared;
using StreakTrack.Worksheet.Desk;

namespace StreakTrack.Worksheet.Tests;

public sealed class FrameShelfTests
{
    private static readonly (string Name, ReaderChoice Reader)[] Clips =
    [
        ("clips/handheld_1080p30/clip.mp4", ReaderChoice.Auto), ("clips/portrait_hevc_vfr/clip.mov", ReaderChoice.Auto),
        ("clips-small/plain.mp4", ReaderChoice.Auto), ("clips-small/plain.mp4", ReaderChoice.Embedded), ("clips-small/trimmed.mp4", ReaderChoice.Auto),
        ("clips-small/uneven.mkv", ReaderChoice.Auto), ("clips-small/fragmented.mp4", ReaderChoice.Auto), ("clips-small/offset.mp4", ReaderChoice.Auto),
        ("clips-small/two_pieces.mp4", ReaderChoice.Auto), ("clips-small/motion_jpeg.avi", ReaderChoice.Auto),
    ];

    public static TheoryData<string, ReaderChoice> ClipData
    {
        get
        {
            var data = new TheoryData<string, ReaderChoice>();
            foreach ((string name, ReaderChoice reader) in Clips)
                data.Add(name, reader);
            return data;
        }
    }

    // Expected: the frames as they come when the clip is read from its beginning, through the same scaling and JPEG.
    [Theory]
    [MemberData(nameof(ClipData))]
    public async Task A_frame_asked_for_by_number_is_that_of_reading_from_the_beginning(string name, ReaderChoice readerChoice)
    {
        ClipFacts facts = ClipFile.Inspect(Fixtures.PathOf(name.Split('/')));
        int last = Count(facts, readerChoice) - 1;
        int[] asked = [last, 1, last / 2, last / 2, 0, (last / 2) + 1, last / 3, 2];
        Dictionary<int, byte[]> expected = Sequential(facts, readerChoice, [.. asked]);
        Assert.False(expected[0].AsSpan().SequenceEqual(expected[last]), "The clip has no two frames that differ.");
        using var shelf = new FrameShelf(facts, readerChoice, () => { });
        foreach (int frame in asked)
            Assert.True((await shelf.PictureAsync(frame, full: true, default))!.AsSpan().SequenceEqual(expected[frame]), $"Frame {frame} is another one.");
        Assert.Null(await shelf.PictureAsync(last + 1, full: false, default));
        Assert.Null(await shelf.PictureAsync(-1, full: false, default));
        Assert.Equal(last + 1, shelf.Count);
    }

    [Fact]
    public async Task A_frame_is_there_while_looking_through_rests()
    {
        ClipFacts facts = ClipFile.Inspect(Fixtures.PathOf("clips", "handheld_1080p30", "clip.mp4"));
        using var shelf = new FrameShelf(facts, ReaderChoice.Auto, () => { });
        shelf.Rest(true);
        Assert.NotNull(await shelf.PictureAsync(facts.AnnouncedFrames!.Value - 1, full: false, default));
        await Task.Delay(300);
        Assert.False(shelf.IsComplete, "It did not rest.");
        shelf.Rest(false);
        for (int i = 0; i < 600 && !shelf.IsComplete; i++)
            await Task.Delay(50);
        Assert.True(shelf.IsComplete);
    }

    [Fact]
    public async Task Requests_that_are_given_up_leave_the_decoders_free()
    {
        ClipFacts facts = ClipFile.Inspect(Fixtures.PathOf("clips", "handheld_1080p30", "clip.mp4"));
        using var shelf = new FrameShelf(facts, ReaderChoice.Auto, () => { });
        shelf.Rest(true);
        for (int i = 0; i < 12; i++)
        {
            using var scrolledPast = new CancellationTokenSource();
            Task<byte[]?> picture = shelf.PictureAsync(20 + (7 * i), full: true, scrolledPast.Token);
            await Task.Delay(i % 4 * 15);
            await scrolledPast.CancelAsync();
            try
            {
                await picture;
            }
            catch (OperationCanceledException)
            {
            }
        }

        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(20));
        Assert.NotNull(await shelf.PictureAsync(100, full: true, patience.Token));
    }

    [Fact]
    public async Task A_clip_that_ends_early_shows_the_frames_it_has()
    {
        // The index of this copy announces all frames, and the end of the pictures is gone.
        using var folder = new TemporaryFolder();
        string source = Fixtures.PathOf("clips-small", "plain.mp4"), copy = folder.PathOf("broken.mp4");
        byte[] bytes = File.ReadAllBytes(source);
        int data = bytes.AsSpan().IndexOf("mdat"u8);
        int size = System.Buffers.Binary.BinaryPrimitives.ReadInt32BigEndian(bytes.AsSpan(data - 4));
        bytes.AsSpan(data - 4 + (size / 2), size / 2).Clear();
        File.WriteAllBytes(copy, bytes);
        ClipFacts facts = ClipFile.Inspect(copy);
        int count = Count(facts, ReaderChoice.Auto);
        Dictionary<int, byte[]> expected = Sequential(facts, ReaderChoice.Auto, [.. Enumerable.Range(0, count)]);
        using var shelf = new FrameShelf(facts, ReaderChoice.Auto, () => { });
        for (int i = 0; i < 600 && !shelf.IsComplete; i++)
            await Task.Delay(50);
        Assert.Equal(count, shelf.Count);
        foreach (int frame in new[] { 0, count / 2, count - 1 })
            Assert.True((await shelf.PictureAsync(frame, full: true, default))!.AsSpan().SequenceEqual(expected[frame]), $"Frame {frame} is another one.");
    }

    private static int Count(ClipFacts facts, ReaderChoice choice)
    {
        using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = choice });
        var frame = new RawFrame();
        int count = 0;
        while (reader.TryRead(frame))
            count++;
        return count;
    }

    private static Dictionary<int, byte[]> Sequential(ClipFacts facts, ReaderChoice choice, HashSet<int> wanted)
    {
        using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = choice });
        var frame = new RawFrame();
        var pictures = new Dictionary<int, byte[]>();
        while (reader.TryRead(frame))
        {
            if (wanted.Contains(frame.Index))
                pictures[frame.Index] = FrameShelf.Develop(frame, reader.Colour, facts.Orientation, full: facts.Orientation.DisplayWidth > FrameShelf.ShownWidthPx);
        }

        return pictures;
    }
}
