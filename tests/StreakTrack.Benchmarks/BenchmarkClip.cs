using System.Globalization;
using StreakTrack.Core.Scale;
using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Benchmarks;

/// <summary>A clip to measure on.</summary>
/// <param name="Name">Size, rate and coding.</param>
/// <param name="ClipPath">The clip.</param>
/// <param name="MarksPath">Its marks.</param>
/// <param name="Seconds">Its length, in s.</param>
/// <param name="Pixels">Pixels of a frame.</param>
/// <param name="FramesPerSecond">Frames a second.</param>
/// <param name="Megabits">Megabits a second.</param>
internal sealed record BenchmarkClip(
    string Name, string ClipPath, string MarksPath, double Seconds, int Pixels, double FramesPerSecond, double Megabits)
{
    /// <summary>Length of the basic clips, in s.</summary>
    public const double BasicSeconds = 10;

    /// <summary>The decay time of all clips, in s.</summary>
    public const double TauSeconds = 2.05;

    /// <summary>Pixels of all frames together.</summary>
    public double AllPixels => Seconds * FramesPerSecond * Pixels;

    private static readonly string[] H264 = ["-c:v", "libx264", "-preset", "veryfast"];

    private static readonly string[] Hevc10 =
        ["-c:v", "libx265", "-preset", "ultrafast", "-pix_fmt", "yuv420p10le", "-tag:v", "hvc1", "-x265-params", "log-level=error"];

    /// <summary>A simulated decay after three seconds of steady swing. What is in the folder from an earlier run is used again.</summary>
    /// <param name="name">Size, rate and coding.</param>
    /// <param name="folder">Where the clip goes.</param>
    /// <param name="height">Rows of the picture; 16 columns go with 9 of them. 2160 is enlarged from 1080.</param>
    /// <param name="rate">Frames a second.</param>
    /// <param name="megabits">Megabits a second, as phones spend them (common practice, no source).</param>
    /// <param name="hevc">HEVC with 10 bits instead of H.264 with 8.</param>
    public static BenchmarkClip Make(string name, string folder, int height, double rate, double megabits, bool hevc = false)
    {
        int enlarged = height > 1080 ? 2 : 1, rows = height / enlarged;
        string path = Path.Combine(folder, "clip.mp4"), marksPath = Path.Combine(folder, "marks.csv");
        if (!File.Exists(path))
        {
            Directory.CreateDirectory(folder);
            string plain = string.Create(CultureInfo.InvariantCulture, $"{folder}/../rendered-{rows}p{rate}");
            string plainClip = Path.Combine(plain, "clip.mp4"), plainMarks = Path.Combine(plain, "marks.csv");
            if (!File.Exists(Path.Combine(plain, "truth.json")))
                SimulatedClip.Write(Scenario(name, rows, rate), plain, new ClipWriterOptions { RateFactor = 14 });

            // The encoders smooth a sensor's noise away where they may, which makes decoding easier than a phone's clips are.
            string scaling = enlarged == 1 ? "" : "scale=iw*2:ih*2:flags=bicubic,";
            Encode(plainClip, path, rate, megabits, hevc ? Hevc10 : H264, "-vf", scaling + "noise=alls=6:allf=t");
            WriteMarks(marksPath, MarksCsv.Read(plainMarks).Select(m => m with
            {
                Point = new PicturePoint(((m.Point.UPx + 0.5) * enlarged) - 0.5, ((m.Point.VPx + 0.5) * enlarged) - 0.5),
            }));
        }

        return new BenchmarkClip(name, path, marksPath, BasicSeconds, height * height * 16 / 9, rate, megabits);
    }

    /// <summary>A longer H.264 clip: the steady beginning again and again, then the whole.</summary>
    public BenchmarkClip Lengthened(string folder, double seconds)
    {
        const double piece = 2.5;
        Directory.CreateDirectory(folder);
        string path = Path.Combine(folder, "clip.mp4");
        if (!File.Exists(path))
        {
            string steady = Path.Combine(folder, "steady.mp4"), list = Path.Combine(folder, "list.txt");
            Encode(ClipPath, steady, FramesPerSecond, Megabits, H264, "-t", piece.ToString(CultureInfo.InvariantCulture));
            int times = (int)Math.Round((seconds - Seconds) / piece);
            File.WriteAllLines(list, Enumerable.Repeat($"file '{steady}'", times).Append($"file '{ClipPath}'"));
            ChildRun.Of("ffmpeg", "-v", "error", "-y", "-f", "concat", "-safe", "0", "-i", list, "-c", "copy", path);
        }

        return this with { Name = string.Create(CultureInfo.InvariantCulture, $"{Name}, {seconds:0} s"), ClipPath = path, Seconds = seconds };
    }

    private static ClipScenario Scenario(string name, int rows, double rate) => DemoScenarios.Decay with
    {
        Name = name,
        DurationSeconds = BasicSeconds,
        Motion = new DecayMotion { FrequencyHz = 64.3, TauSeconds = TauSeconds, PhaseRadians = 0.7, AmplitudeMm = 43, SwitchTimeSeconds = 3 },
        Camera = new CameraSettings
        {
            WidthPx = rows * 16 / 9, HeightPx = rows, FramesPerSecond = rate, PxPerMm = 7.2 * rows / 720, RollDegrees = 0.4,
        },
    };

    // One key frame a second, as phones make them (common practice, no source).
    private static void Encode(string from, string to, double framesPerSecond, double megabits, string[] encoder, params string[] options)
    {
        string partial = Path.ChangeExtension(to, ".partial.mp4"), rate = string.Create(CultureInfo.InvariantCulture, $"{megabits}M");
        string second = framesPerSecond.ToString("0", CultureInfo.InvariantCulture);
        ChildRun.Of("ffmpeg", ["-v", "error", "-y", "-i", from, .. options, .. encoder, "-g", second, "-b:v", rate, partial]);
        File.Move(partial, to);
    }

    private static void WriteMarks(string path, IEnumerable<RulerMark> marks) => File.WriteAllLines(path,
        marks.Select(m => string.Create(CultureInfo.InvariantCulture, $"{m.Point.UPx:0.###},{m.Point.VPx:0.###},{m.ReadingMm:0.###}"))
            .Prepend("u_px,v_px,reading_mm"));
}
