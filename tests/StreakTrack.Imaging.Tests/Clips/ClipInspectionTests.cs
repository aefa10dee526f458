using System.Globalization;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Tests.Clips;

public class ClipInspectionTests
{
    public static TheoryData<string> AllClips() => [.. SmallClips.Large, .. SmallClips.Small, "av1.mp4"];

    [Theory]
    [MemberData(nameof(AllClips))]
    public void Facts_read_from_the_container_are_those_that_ffprobe_tells(string name)
    {
        ClipFacts facts = ClipFile.Inspect(SmallClips.PathOf(name));
        Dictionary<string, string> stream = SmallClips.Stream(name);

        Assert.Equal(stream["codec_name"], facts.Codec);
        Assert.Equal(stream["width"], facts.Orientation.CodedWidth.ToString(CultureInfo.InvariantCulture));
        Assert.Equal(stream["height"], facts.Orientation.CodedHeight.ToString(CultureInfo.InvariantCulture));

        // Motion JPEG tells its colour layout only inside its pictures.
        if (facts.Codec != "mjpeg")
            Assert.Equal(stream["pix_fmt"], facts.PixelFormat);
        if (facts.Codec is not ("mjpeg" or "vp9" or "av1"))
            Assert.Equal(stream["color_range"] == "pc", facts.Colour.FullRange);
        ColourMatrix? matrix = stream["color_space"] switch
        {
            "bt709" => ColourMatrix.Bt709,
            "bt2020nc" => ColourMatrix.Bt2020,
            "smpte170m" => ColourMatrix.Bt601,
            _ => null,
        };
        TransferFunction? transfer = stream["color_transfer"] switch
        {
            "bt709" or "smpte170m" => TransferFunction.Bt709,
            "arib-std-b67" => TransferFunction.Hlg,
            _ => null,
        };
        if (facts.Codec is not ("mjpeg" or "vp9"))
        {
            Assert.Equal(matrix ?? ColourMatrix.Bt601, facts.Colour.Matrix);
            Assert.Equal(transfer ?? TransferFunction.Bt709, facts.Colour.Transfer);
            Assert.Equal(matrix is null || transfer is null, facts.Colour.Assumed);
        }

        // To half a tick of the coarsest time scale among the clips, 1 ms in MKV.
        Assert.Equal(double.Parse(stream["start_time"], CultureInfo.InvariantCulture), facts.StartSeconds, 5e-4);
        Assert.Equal(SmallClips.Times(name)[0], facts.StartSeconds, 5e-4);
        if (facts.AnnouncedFrames is { } frames)
            Assert.Equal(SmallClips.Times(name).Length, frames);
        else
            Assert.Equal("Matroska", facts.Container);
    }

    [Theory]
    [InlineData("plain.mp4", 1, 0, 0, 1)]
    [InlineData("mirrored.mp4", -1, 0, 0, 1)]

    // For row vectors the matrix 0 1 / -1 0 takes (x, y) to (-y, x): to the right goes down, so the picture turns clockwise.
    [InlineData("turned90.mp4", 0, -1, 1, 0)]
    [InlineData("turned270.mp4", 0, 1, -1, 0)]
    [InlineData("transposed.mp4", 0, 1, 1, 0)]
    public void Display_matrices_turn_and_mirror(string name, int xx, int xy, int yx, int yy)
    {
        DisplayOrientation orientation = ClipFile.Inspect(SmallClips.PathOf(name)).Orientation;
        Assert.Equal((xx, xy, yx, yy), (orientation.XX, orientation.XY, orientation.YX, orientation.YY));
    }

    // RFC 9559, ProjectionPoseRoll: counter-clockwise, so that by a quarter the right side goes to the top. A yaw by half a turn mirrors.
    [Theory]
    [InlineData(0, 0, 0, 1, 0, 0, 1)]
    [InlineData(0, 0, 90, 0, 1, -1, 0)]
    [InlineData(0, 0, -90, 0, -1, 1, 0)]
    [InlineData(0, 0, 270, 0, -1, 1, 0)]
    [InlineData(0, 0, 180, -1, 0, 0, -1)]
    [InlineData(180, 0, 0, -1, 0, 0, 1)]
    [InlineData(180, 0, 90, 0, 1, 1, 0)]
    [InlineData(0, 30, 90, 1, 0, 0, 1)]
    public void A_Matroska_file_turns_its_picture_by_a_pose(float yaw, float pitch, float roll, int xx, int xy, int yx, int yy)
    {
        byte[] projection =
            Element(0x7670, [.. Element(0x7673, Single(yaw)), .. Element(0x7674, Single(pitch)), .. Element(0x7675, Single(roll))]);
        byte[] video = Element(0xE0, [.. Element(0xB0, [64]), .. Element(0xBA, [48]), .. projection]);
        byte[] track = Element(0xAE, [.. Element(0xD7, [1]), .. Element(0x83, [1]), .. Element(0x86, "V_VP9"u8.ToArray()), .. video]);
        using var folder = new TemporaryFolder();
        string path = folder.Write("turned.mkv", [.. Element(0x1A45DFA3, []), .. Element(0x18538067, Element(0x1654AE6B, track))]);
        DisplayOrientation orientation = ClipFile.Inspect(path).Orientation;
        Assert.Equal((xx, xy, yx, yy), (orientation.XX, orientation.XY, orientation.YX, orientation.YY));

        static byte[] Single(float value)
        {
            byte[] bytes = BitConverter.GetBytes(value);
            Array.Reverse(bytes);
            return bytes;
        }

        // RFC 8794: identifier, length in a byte with its highest bit set, contents.
        static byte[] Element(uint id, byte[] content)
        {
            byte[] whole = [(byte)(id >> 24), (byte)(id >> 16), (byte)(id >> 8), (byte)id];
            return [.. whole.SkipWhile(b => b == 0), (byte)(0x80 | content.Length), .. content];
        }
    }

    [Theory]
    [InlineData("two_pieces.mp4", "edited-clip")]
    [InlineData("half_speed.mp4", "edited-clip")]
    [InlineData("slow_motion.mp4", "slow-motion")]
    [InlineData("untagged.mp4", "colour-assumed")]
    [InlineData("plain.mp4", null)]
    [InlineData("trimmed.mp4", null)]
    [InlineData("offset.mp4", null)]
    public void What_makes_a_clip_doubtful_is_remarked(string name, string? code)
    {
        string[] codes = [.. ClipFile.Inspect(SmallClips.PathOf(name)).Findings.Select(f => f.Code)];
        Assert.Equal(code is null ? [] : [code], codes);
    }

    [Fact]
    public void The_remark_on_slow_motion_names_both_rates()
    {
        string message = Assert.Single(ClipFile.Inspect(SmallClips.PathOf("slow_motion.mp4")).Findings).Message;
        Assert.Contains("240 frames a second", message, StringComparison.Ordinal);
        Assert.Contains("plays 30 a second", message, StringComparison.Ordinal);
        Assert.Contains("0.125 s", message, StringComparison.Ordinal);
    }
}
