using System.CommandLine;
using System.Globalization;
using System.Security.Cryptography;
using StreakTrack.Cli.Terminal;
using StreakTrack.Core;
using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Cli.Commands;

/// <summary><c>streaktrack synth</c>: practice clips with known truth.</summary>
internal sealed class SynthCommand
{
    private readonly Option<DirectoryInfo?> _out = new("--out") { Description = "Folder for clip and marks.", HelpName = "DIR" };
    private readonly Option<DirectoryInfo?> _truth = new("--truth") { Description = "Folder for truth.json, to be kept from the class; DIR.truth if not given.", HelpName = "DIR" };
    private readonly Option<string> _preset = new("--preset") { Description = "What is drawn: a clean clip, one filmed badly, or one that is no plain decay.", HelpName = "clean|hard|trick", DefaultValueFactory = _ => "clean" };
    private readonly Option<int?> _seed = new("--seed") { Description = "The same seed draws the same clip; drawn and printed if not given.", HelpName = "N" };
    private readonly Option<string> _encoder = new("--encoder") { Description = "What encodes the clip.", HelpName = "auto|ffmpeg|embedded", DefaultValueFactory = _ => "auto" };
    private readonly Option<FileInfo?> _check = new("--check") { Description = "Say whether this truth file is the one that a hash was handed out for.", HelpName = "TRUTH.json" };
    private readonly Option<string?> _seal = new("--sha256") { Description = "The hash that was handed out, for --check.", HelpName = "HASH" };
    private readonly Option<double?> _tau = SettingOptions.Number("--tau", "S", "Decay time in place of the drawn one.", 0);
    private readonly Option<double?> _frequency = SettingOptions.Number("--frequency", "HZ", "Oscillation frequency in place of the drawn one.", 0);
    private readonly Option<double?> _detuning = SettingOptions.Number("--detuning", "HZ", "A drive switched on this far beside the resonance, in place of the drawn motion.");
    private readonly Option<double?> _rate = SettingOptions.Number("--frame-rate", "HZ", "Frames a second.", 0);
    private readonly Option<double?> _exposure = SettingOptions.Number("--exposure-share", "X", "Exposure as a share of the frame's time, up to 1.", 0);
    private readonly Option<double?> _light = SettingOptions.Number("--light", "X", "Light in the room, 0 to 1 of full scale.", 0, allowMinimum: true);
    private readonly Option<double?> _yaw = SettingOptions.Number("--yaw", "DEG", "Slant of the view along the ruler.");
    private readonly Option<double?> _shake = SettingOptions.Number("--shake", "PX", "Root mean square of the hand's tremble.", 0, allowMinimum: true);
    private readonly Option<double?> _jitter = SettingOptions.Number("--jitter", "S", "Scatter of the frame times: a variable frame rate.", 0, allowMinimum: true);
    private readonly Option<double?> _rotation = SettingOptions.Number("--rotation", "DEG", "Rotation tag: 0, 90, 180 or 270.", 0, allowMinimum: true);
    private readonly Option<double?> _duration = SettingOptions.Number("--duration", "S", "Length of the clip.", 0);
    private readonly Option<double?> _width = SettingOptions.Number("--width", "PX", "Columns of the picture, 16:9; 1280 if not given.", 0);

    /// <summary>The command.</summary>
    public static Command Create(CommandStreams streams)
    {
        var self = new SynthCommand();
        var command = new Command("synth", "Make a practice clip with known truth, the truth sealed by a hash.")
        {
            self._out, self._truth, self._preset, self._seed, self._encoder, self._tau, self._frequency, self._detuning, self._rate, self._exposure,
            self._light, self._yaw, self._shake, self._jitter, self._rotation, self._duration, self._width, self._check, self._seal,
        };
        self._preset.AcceptOnlyFromAmong("clean", "hard", "trick");
        self._encoder.AcceptOnlyFromAmong("auto", "ffmpeg", "embedded");
        command.SetAction((parsed, cancellationToken) => Task.Run(
            () => parsed.GetValue(self._check) is FileInfo truth ? self.Check(parsed, truth, streams) : self.Run(parsed, streams, cancellationToken), cancellationToken));
        ExampleHelp.AddTo(command,
            "streaktrack synth --out practice --preset hard --seed 7",
            "streaktrack synth --out practice --truth sealed --tau 1.8 --frequency 36 --light 0.2",
            "streaktrack synth --check sealed/truth.json --sha256 0123…");
        return command;
    }

    private int Check(ParseResult parsed, FileInfo truth, CommandStreams streams)
    {
        string seal = (parsed.GetValue(_seal) ?? throw new UsageException("--check needs the hash that was handed out: --sha256.")).Trim().ToLowerInvariant();
        if (seal.Length != 2 * SHA256.HashSizeInBytes || !seal.All(char.IsAsciiHexDigitLower))
            throw new UsageException("--sha256 wants the 64 hexadecimal digits that were printed when the clip was made.");
        if (!truth.Exists)
            throw new UnusableInputException(truth.FullName, "there is no such file", "Name the truth.json that was kept from the class.");
        string found = Convert.ToHexStringLower(SHA256.HashData(File.ReadAllBytes(truth.FullName)));
        streams.Output.WriteLine(found == seal
            ? "unchanged: the truth file is the one that the hash was handed out for"
            : $"CHANGED: the truth file has the hash {found}");
        return found == seal ? ExitCode.Done : ExitCode.CheckFailed;
    }

    private int Run(ParseResult parsed, CommandStreams streams, CancellationToken cancellationToken)
    {
        string folder = parsed.GetValue(_out)?.FullName ?? throw new UsageException("Name the folder for clip and marks with --out.");
        if (parsed.GetValue(_seal) is not null)
            throw new UsageException("--sha256 belongs to --check.");
        int seed = parsed.GetValue(_seed) ?? RandomNumberGenerator.GetInt32(1, 1_000_000);
        SimulatedClip clip;
        try
        {
            ClipScenario scenario = Scenario(parsed, PracticeScenarios.Draw(Enum.Parse<PracticePreset>(parsed.GetRequiredValue(_preset), ignoreCase: true), seed));
            var options = new ClipWriterOptions
            {
                Encoder = Enum.Parse<ClipEncoder>(parsed.GetRequiredValue(_encoder), ignoreCase: true),
                TruthFolder = parsed.GetValue(_truth)?.FullName ?? folder + ".truth",
                TruthSalt = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(16)),
            };
            using var progress = new ProgressLine(streams);
            clip = SimulatedClip.Write(scenario, folder, options, new ShareProgress(progress, "rendering: percent"), cancellationToken);
        }
        catch (ArgumentException e)
        {
            throw new UsageException(e.Message.Split(" (Parameter")[0]);
        }

        streams.Output.WriteLine($"clip    {clip.ClipPath}");
        streams.Output.WriteLine($"marks   {clip.MarksPath}");
        streams.Output.WriteLine($"encoder {clip.Truth.Encoder}");
        streams.Output.WriteLine($"seed    {seed.ToString(CultureInfo.InvariantCulture)}");
        streams.Output.WriteLine($"truth   {clip.TruthPath}");
        streams.Output.WriteLine($"sha256  {clip.TruthSha256}");
        streams.Output.WriteLine("Hand out the hash with the clip; synth --check shows later that the truth file was not changed.");
        return ExitCode.Done;
    }

    private ClipScenario Scenario(ParseResult parsed, ClipScenario drawn)
    {
        OscillatorMotion motion = parsed.GetValue(_detuning) is double detuning
            ? new DetunedTransientMotion { DetuningHz = detuning, FrequencyHz = drawn.Motion.FrequencyHz, TauSeconds = drawn.Motion.TauSeconds, PhaseRadians = drawn.Motion.PhaseRadians }
            : drawn.Motion;
        motion = motion with { TauSeconds = parsed.GetValue(_tau) ?? motion.TauSeconds, FrequencyHz = parsed.GetValue(_frequency) ?? motion.FrequencyHz };
        double rate = parsed.GetValue(_rate) ?? drawn.Camera.FramesPerSecond;
        int width = (int)(parsed.GetValue(_width) ?? drawn.Camera.WidthPx), height = parsed.GetValue(_width) is null ? drawn.Camera.HeightPx : 2 * (int)Math.Round(width * 9 / 32.0);
        return drawn with
        {
            Motion = motion,
            DurationSeconds = parsed.GetValue(_duration) ?? drawn.DurationSeconds,
            Scene = drawn.Scene with { AmbientLevel = parsed.GetValue(_light) ?? drawn.Scene.AmbientLevel },
            Timing = drawn.Timing with { JitterSeconds = parsed.GetValue(_jitter) ?? drawn.Timing.JitterSeconds },
            Camera = drawn.Camera with
            {
                WidthPx = width,
                HeightPx = height,
                PxPerMm = drawn.Camera.PxPerMm * width / drawn.Camera.WidthPx,
                FramesPerSecond = rate,
                ExposureSeconds = parsed.GetValue(_exposure) is double share ? share / rate : drawn.Camera.ExposureSeconds,
                YawDegrees = parsed.GetValue(_yaw) ?? drawn.Camera.YawDegrees,
                ShakeRmsPx = parsed.GetValue(_shake) ?? drawn.Camera.ShakeRmsPx,
                RotationTagDegrees = (int)(parsed.GetValue(_rotation) ?? drawn.Camera.RotationTagDegrees),
            },
        };
    }
}
