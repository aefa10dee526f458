using System.Buffers.Binary;
using System.Diagnostics;
using System.Text;
using StreakTrack.Core;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Tests.Clips;

public sealed class HostileFileTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    [Theory]
    [InlineData("this is a text, and longer than twelve bytes")]
    [InlineData("ffconcat version 1.0\nfile plain.mp4\n")]
    [InlineData("#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXTINF:10,\n/etc/hostname\n#EXT-X-ENDLIST\n")]
    [InlineData("v=0\r\no=- 0 0 IN IP4 127.0.0.1\r\nm=video 5004 RTP/AVP 96\r\n")]
    [InlineData("RIFF1234WAVEfmt ")]
    [InlineData("short")]
    public void Files_that_are_no_clips_are_refused_by_their_first_bytes_whatever_their_name(string content)
    {
        string path = _folder.Write("clip.mp4", Encoding.ASCII.GetBytes(content));
        var error = Assert.Throws<UnusableInputException>(() => ClipFile.Inspect(path));
        Assert.Contains("first bytes", error.Problem, StringComparison.Ordinal);
        Assert.Equal(path, error.Subject);
    }

    [Theory]
    [InlineData("http://127.0.0.1/clip.mp4")]
    [InlineData("concat:plain.mp4|plain.mp4")]
    [InlineData("subfile,,start,0,end,0,,:plain.mp4")]
    public void Addresses_and_protocols_are_names_of_files_that_do_not_exist(string name) =>
        Assert.Contains("no such file", Assert.Throws<UnusableInputException>(() => ClipFile.Inspect(name)).Problem, StringComparison.Ordinal);

    [Fact]
    public void A_missing_file_an_empty_one_and_a_folder_are_told_apart()
    {
        Assert.Contains("no such file", Problem(_folder["missing.mp4"]), StringComparison.Ordinal);
        Assert.Contains("empty", Problem(_folder.Write("empty.mp4", [])), StringComparison.Ordinal);
        Directory.CreateDirectory(_folder["folder.mp4"]);
        Assert.Contains("folder", Problem(_folder["folder.mp4"]), StringComparison.Ordinal);
    }

    [Fact]
    public void A_pipe_or_a_device_is_refused_and_not_waited_for()
    {
        if (OperatingSystem.IsWindows())
            return;
        using (Process maker = Process.Start("mkfifo", [_folder["pipe.mp4"]]))
            maker.WaitForExit();
        File.CreateSymbolicLink(_folder["link.mp4"], _folder["pipe.mp4"]);
        Assert.Contains("not an ordinary file", Problem(_folder["pipe.mp4"]), StringComparison.Ordinal);
        Assert.Contains("not an ordinary file", Problem(_folder["link.mp4"]), StringComparison.Ordinal);
        Assert.Contains("not an ordinary file", Problem("/dev/zero"), StringComparison.Ordinal);
    }

    [Fact]
    public void A_link_to_a_clip_is_followed()
    {
        if (OperatingSystem.IsWindows())
            return;
        File.CreateSymbolicLink(_folder["link.mp4"], SmallClips.PathOf("plain.mp4"));
        Assert.Equal("h264", ClipFile.Inspect(_folder["link.mp4"]).Codec);
    }

    [Fact]
    public void A_file_with_sound_only_has_no_video() =>
        Assert.Contains("no video", Problem(SmallClips.PathOf("audio_only.m4a")), StringComparison.Ordinal);

    [Fact]
    public void A_recording_that_was_broken_off_lacks_its_index()
    {
        byte[] whole = File.ReadAllBytes(SmallClips.PathOf("plain.mp4"));   // its moov box comes last
        Assert.Contains("moov", Problem(_folder.Write("cut.mp4", whole.AsSpan(0, whole.Length / 2))), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(ReaderChoice.Ffmpeg)]
    [InlineData(ReaderChoice.Embedded)]
    public void A_copy_cut_short_gives_its_frames_and_counts_the_lost_ones(ReaderChoice choice)
    {
        byte[] whole = File.ReadAllBytes(SmallClips.PathOf("ringdown_dark_720p30"));   // its moov box comes first
        ClipFacts facts = ClipFile.Inspect(_folder.Write("cut.mp4", whole.AsSpan(0, whole.Length * 6 / 10)));
        using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = choice, Region = new PixelRegion(0, 0, 16, 16) });
        var frame = new RawFrame();
        int read = 0;
        while (reader.TryRead(frame))
            read++;

        Assert.InRange(read, 30, 290);
        Assert.Equal(300 - read, reader.LostFrames);
    }

    [Theory]
    [InlineData(ReaderChoice.Ffmpeg)]
    [InlineData(ReaderChoice.Embedded)]
    public void Pictures_behind_a_damaged_stretch_are_still_read(ReaderChoice choice)
    {
        byte[] whole = File.ReadAllBytes(SmallClips.PathOf("ringdown_dark_720p30"));
        whole.AsSpan(whole.Length / 2, 3000).Clear();
        ClipFacts facts = ClipFile.Inspect(_folder.Write("damaged.mp4", whole));
        using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = choice, Region = new PixelRegion(0, 0, 16, 16) });
        var frame = new RawFrame();
        int read = 0;
        while (reader.TryRead(frame))
            read++;

        Assert.True(frame.TimeSeconds > 9.9, $"ended at {frame.TimeSeconds} s of 10 s");
        Assert.Equal(300 - read, reader.LostFrames);

        // The embedded decoder keeps its complaints to itself.
        Assert.Equal(choice == ReaderChoice.Ffmpeg ? ["frames-damaged"] : [], reader.Findings.Select(f => f.Code));
    }

    [Fact]
    public void A_codec_that_the_embedded_decoder_lacks_is_named_with_a_way_out()
    {
        ClipFacts facts = ClipFile.Inspect(SmallClips.PathOf("av1.mp4"));
        var error = Assert.Throws<UnusableInputException>(() =>
        {
            using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = ReaderChoice.Embedded });
            reader.TryRead(new RawFrame());
        });
        Assert.Contains("av1", error.Problem, StringComparison.Ordinal);
        Assert.Contains("ffmpeg", error.NextStep, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("a type box and nothing else")]
    [InlineData("zero size to the end of the file")]
    [InlineData("a size smaller than the header")]
    [InlineData("a size of 2^64 - 1")]
    [InlineData("a wide size that is not there")]
    [InlineData("an empty index")]
    [InlineData("half a million empty boxes")]
    [InlineData("boxes in boxes in boxes")]
    [InlineData("EBML with an endless segment")]
    [InlineData("RIFF with a huge list")]
    public void Strange_structures_are_refused(string what)
    {
        byte[] type = Box("ftyp", "isom"u8.ToArray());
        byte[] content = what switch
        {
            "a type box and nothing else" => type,
            "zero size to the end of the file" => [.. type, 0, 0, 0, 0, .. "moov"u8],
            "a size smaller than the header" => [.. type, 0, 0, 0, 4, .. "moov"u8, 1, 2, 3, 4],
            "a size of 2^64 - 1" => [.. type, 0, 0, 0, 1, .. "moov"u8, .. Enumerable.Repeat((byte)255, 8)],
            "a wide size that is not there" => [.. type, 0, 0, 0, 1, .. "moov"u8],
            "an empty index" => [.. type, .. Box("moov", [])],
            "half a million empty boxes" => [.. type, .. Enumerable.Repeat(Box("free", []), 500_000).SelectMany(b => b)],
            "boxes in boxes in boxes" => [.. type, .. Nested("moov", 20_000)],
            "EBML with an endless segment" => [0x1A, 0x45, 0xDF, 0xA3, 0x80, 0x18, 0x53, 0x80, 0x67, 0x01, 255, 255, 255, 255, 255, 255, 255],
            _ => [.. "RIFF"u8, 255, 255, 255, 255, .. "AVI LIST"u8, 255, 255, 255, 255, .. "hdrl"u8],
        };
        Assert.NotEmpty(Problem(_folder.Write("clip.mp4", content)));
    }

    [Fact]
    public void Counts_beyond_their_boxes_are_not_believed()
    {
        byte[] clip = File.ReadAllBytes(SmallClips.PathOf("plain.mp4"));
        foreach (string box in new[] { "stts", "ctts", "elst" })
        {
            int at = clip.AsSpan().IndexOf(Encoding.ASCII.GetBytes(box)) + 8;
            BinaryPrimitives.WriteUInt32BigEndian(clip.AsSpan(at), uint.MaxValue);
        }

        Assert.Equal(45, ClipFile.Inspect(_folder.Write("clip.mp4", clip)).AnnouncedFrames);
    }

    public void Dispose() => _folder.Dispose();

    private static string Problem(string path) => Assert.Throws<UnusableInputException>(() => ClipFile.Inspect(path)).Problem;

    private static byte[] Box(string type, byte[] content)
    {
        byte[] box = new byte[8 + content.Length];
        BinaryPrimitives.WriteInt32BigEndian(box, box.Length);
        Encoding.ASCII.GetBytes(type, box.AsSpan(4));
        content.CopyTo(box, 8);
        return box;
    }

    private static byte[] Nested(string type, int depth)
    {
        byte[] all = new byte[8 * depth];
        for (int i = 0; i < depth; i++)
        {
            BinaryPrimitives.WriteInt32BigEndian(all.AsSpan(8 * i), all.Length - (8 * i));
            Encoding.ASCII.GetBytes(type, all.AsSpan((8 * i) + 4));
        }

        return all;
    }
}
