using System.IO.Compression;
using System.Text.Json;
using StreakTrack.Cli;
using StreakTrack.Core;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Core.Submissions;
using StreakTrack.Core.Tables;
using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Robustness.Fuzzing;

/// <summary>The doors: public readers, and the commands in this process.</summary>
internal static class FuzzTargets
{
    private const string Stiffness = "current_a,current_u_a,frequency_hz,frequency_u_hz\r\n-2,0.01,28.6,0.02\r\n-1,0.01,29.3,0.02\r\n"
        + "0,0.01,30,0.02\r\n1,0.01,30.7,0.02\r\n2,0.01,31.3,0.02\r\n";

    private const string Damping = "setting_mm,tau_s,tau_u_s,frequency_hz\r\n0,2.41,0.01,38.9\r\n0,2.43,0.01,38.9\r\n1,1.80,0.01,38.9\r\n"
        + "1,1.82,0.01,38.9\r\n2,1.21,0.01,38.8\r\n2,1.20,0.01,38.8\r\n";

    /// <summary>All doors.</summary>
    /// <param name="sandbox">Where the sound originals are made and results go.</param>
    public static async Task<IReadOnlyList<FuzzTarget>> AllAsync(Sandbox sandbox)
    {
        SimulatedClip clip = SimulatedClip.Write(SmallClip, sandbox.PathOf("in"));
        (int code, _, string error) = await RunAsync(
            ["analyze", clip.ClipPath, "--marks", clip.MarksPath, "--out", sandbox.Out, "--frequency", "36.7", "--distance", "1150"], default);
        if (code != ExitCode.Done)
            throw new InvalidOperationException("The sound clip was refused: " + error);
        byte[] record = await File.ReadAllBytesAsync(Path.Combine(sandbox.Out, "record.json"));
        byte[] series = await File.ReadAllBytesAsync(Path.Combine(sandbox.Out, "series.csv"));
        byte[] marks = await File.ReadAllBytesAsync(clip.MarksPath);
        byte[] film = await File.ReadAllBytesAsync(clip.ClipPath);
        byte[] submission = Archive(film, record);
        byte[] resonance = Resonance();
        byte[] stiffness = System.Text.Encoding.ASCII.GetBytes(Stiffness), damping = System.Text.Encoding.ASCII.GetBytes(Damping);

        return
        [
            Reader("record, reader", record, Mutator.OfJson, path => RecordJson.Write(RecordJson.Read(path))),
            Reader("marks, reader and scale", marks, Mutator.OfText, path => RulerScaleFitter.Fit(MarksCsv.Read(path), new RulerScaleOptions())),
            Reader("series, reader", series, Mutator.OfText, path => SeriesCsv.Read(path).Select(s => RequireFinite(s.TimeSeconds)).Count()),
            Reader("study table, reader", resonance, Mutator.OfText, path => CsvTable.Read(path)),
            Command("series, fit", series, Mutator.OfText, path => ["fit", path, "--out", sandbox.Out, "--frequency", "36.7", "--json"]),
            Command("table, resonance", resonance, Mutator.OfText, path => ["resonance", path, "--out", sandbox.Out, "--json"]),
            Command("table, stiffness", stiffness, Mutator.OfText, path => ["stiffness", path, "--out", sandbox.Out, "--json"]),
            Command("table, damping", damping, Mutator.OfText, path => ["damping", path, "--out", sandbox.Out, "--json"]),
            Command("record, analyze", record, Mutator.OfJson,
                path => ["analyze", clip.ClipPath, "--record", path, "--out", sandbox.Out, "--json"]),
            Reader("submission, archive", submission, Mutator.OfArchive, path => Unpack(WithEnding(path, ".zip"), sandbox)),
            // Half of the mutants are sound archives with a mutated record.
            Command("submission, verify", submission,
                (original, seed) => seed % 2 == 0 ? Mutator.OfArchive(original, seed) : Archive(film, Mutator.OfJson(record, seed)),
                path => ["verify", WithEnding(path, ".zip"), "--out", sandbox.Out], RequireNothing),
            Command("marks, analyze", marks, Mutator.OfText,
                path => ["analyze", clip.ClipPath, "--marks", path, "--out", sandbox.Out, "--json"]),
        ];
    }

    /// <summary>Small clips whose mutants are decoded.</summary>
    public static IReadOnlyList<string> Clips { get; } = ["plain.mp4", "uneven.mkv", "hevc10.mp4", "vp9.webm", "motion_jpeg.avi", "mpeg4.avi"];

    /// <summary>Mutants of a long run: by what one costs.</summary>
    public static int LongRun(FuzzTarget target) =>
        target.What.EndsWith("verify", StringComparison.Ordinal) || target.What.EndsWith("analyze", StringComparison.Ordinal) ? 250
            : target.What.Contains("reader", StringComparison.Ordinal) ? 10_000 : 1000;

    /// <summary>A clip as small as a measurement allows.</summary>
    private static ClipScenario SmallClip { get; } = new()
    {
        Name = "small",
        Seed = 11,
        DurationSeconds = 1.6,
        Motion = new DecayMotion { FrequencyHz = 36.7, TauSeconds = 0.4, AmplitudeMm = 30, SwitchTimeSeconds = 0.3, PhaseRadians = 0.4 },
        Lever = new LeverSettings { DistanceMm = 1150 },
        Laser = new LaserSettings { Level = 0.05 },
        Camera = new CameraSettings { WidthPx = 400, HeightPx = 120, PxPerMm = 3 },
    };

    /// <summary>The response of an oscillator of 35.2 Hz with Q = 180.</summary>
    private static byte[] Resonance()
    {
        var table = new System.Text.StringBuilder("frequency_hz,amplitude_mm,amplitude_u_mm\r\n");
        for (int i = 0; i < 13; i++)
        {
            double f = 34.6 + (0.1 * i), x = f / 35.2;
            double amplitude = 50 / 180.0 / Math.Sqrt(((1 - (x * x)) * (1 - (x * x))) + (x / 180 * (x / 180)));
            table.Append(System.Globalization.CultureInfo.InvariantCulture, $"{f:0.0},{amplitude:0.000},0.1\r\n");
        }

        return System.Text.Encoding.ASCII.GetBytes(table.ToString());
    }

    private static FuzzTarget Reader<T>(string what, byte[] original, Func<byte[], int, byte[]> mutate, Func<string, T> read) =>
        new(what, original, mutate, (path, _) =>
        {
            read(path);
            return Task.FromResult(true);
        });

    private static FuzzTarget Command(
        string what, byte[] original, Func<byte[], int, byte[]> mutate, Func<string, string[]> arguments, Action<string>? require = null) =>
        new(what, original, mutate, async (path, cancellation) =>
        {
            (int code, string output, string error) = await RunAsync(arguments(path), cancellation);
            if (error.Contains("fault of the program", StringComparison.Ordinal))
                throw new InvalidOperationException(error.Trim());
            switch (code)
            {
                case ExitCode.Done:
                    (require ?? RequireFiniteResults)(output);
                    return true;

                // A submission with a verdict that says what is wrong with it.
                case ExitCode.CheckFailed when require is not null:
                    require(output);
                    return false;

                // Numbers of a record's settings that contradict the command's own are a matter of the command line.
                case ExitCode.UnusableInput or ExitCode.Usage when error.Trim().Length > 0:
                    return false;
                default:
                    throw new InvalidOperationException($"exit code {code}: {error.Trim()}");
            }
        });

    private static async Task<(int Code, string Output, string Error)> RunAsync(string[] arguments, CancellationToken cancellation)
    {
        using var output = new StringWriter();
        using var error = new StringWriter();
        int code = await CommandLine.RunAsync(arguments, new CommandStreams(output, error), cancellation);
        return (code, output.ToString(), error.ToString());
    }

    private static void RequireNothing(string output)
    {
        if (output.Trim().Length == 0)
            throw new InvalidOperationException("no verdict");
    }

    /// <summary>A submission: a clip with its record.</summary>
    private static byte[] Archive(byte[] clip, byte[] record)
    {
        using var stream = new MemoryStream();
        using (var zip = new ZipArchive(stream, ZipArchiveMode.Create, leaveOpen: true))
        {
            foreach ((string name, byte[] bytes) in new[] { ("clip.mp4", clip), ("record.json", record) })
            {
                using Stream entry = zip.CreateEntry(name, CompressionLevel.Fastest).Open();
                entry.Write(bytes);
            }
        }

        return stream.ToArray();
    }

    private static string WithEnding(string path, string ending)
    {
        File.Copy(path, path + ending, overwrite: true);
        return path + ending;
    }

    private static bool Unpack(string archive, Sandbox sandbox)
    {
        string folder = Path.Combine(sandbox.Out, "unpacked");
        Directory.CreateDirectory(folder);
        try
        {
            return SubmissionFiles.Open(archive, folder).ClipPath is not null;
        }
        catch (SubmissionRefusedException e)
        {
            throw new UnusableInputException(archive, e.Message, "This is what is expected of a hostile archive.", e);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>Results said to be done are numbers, all of them.</summary>
    private static void RequireFiniteResults(string json)
    {
        using JsonDocument document = JsonDocument.Parse(json);
        if (document.RootElement.TryGetProperty("quantities", out JsonElement quantities))
        {
            foreach (JsonElement quantity in quantities.EnumerateArray())
                RequireNumber(quantity, "value", quantity.GetProperty("quantity").GetString()!);
        }
        else
        {
            foreach (JsonProperty parameter in document.RootElement.GetProperty("result").GetProperty("fit").GetProperty("parameters").EnumerateObject())
                RequireNumber(parameter.Value, "value", parameter.Name);
        }
    }

    private static void RequireNumber(JsonElement holder, string property, string name)
    {
        if (holder.GetProperty(property).ValueKind != JsonValueKind.Number)
            throw new InvalidOperationException($"{name} has no {property}");
    }

    private static double RequireFinite(double value) => double.IsFinite(value) ? value : throw new InvalidOperationException($"{value} came out");
}
