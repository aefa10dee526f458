using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Text.RegularExpressions;
using StreakTrack.Core;

namespace StreakTrack.Imaging.Clips;

/// <summary>Reads frames from an installed ffmpeg program: raw planes through a pipe, exact times from its log.</summary>
/// <remarks>
/// Planes come in the stream's own format, neither scaled nor converted, unless no <see cref="PlaneLayout"/> fits it. Times are the
/// container's, in whole ticks.
/// </remarks>
internal sealed partial class FfmpegFrameReader : IFrameReader
{
    private const int MaxKeptErrors = 5;

    // No frame takes a decoder this long; a file that keeps it busy for longer is made to do so.
    private static readonly TimeSpan LongestWait = TimeSpan.FromSeconds(60);

    private static readonly string Stuck = $"the decoder spent more than {LongestWait.TotalSeconds} s on one frame and was stopped";

    private static readonly Dictionary<string, (PlaneLayout Layout, int BitDepth)> Formats = new()
    {
        ["yuv420p"] = (PlaneLayout.Yuv420, 8),
        ["yuvj420p"] = (PlaneLayout.Yuv420, 8),
        ["yuv422p"] = (PlaneLayout.Yuv422, 8),
        ["yuvj422p"] = (PlaneLayout.Yuv422, 8),
        ["yuv444p"] = (PlaneLayout.Yuv444, 8),
        ["yuvj444p"] = (PlaneLayout.Yuv444, 8),
        ["gray"] = (PlaneLayout.Luma, 8),
        ["yuv420p10le"] = (PlaneLayout.Yuv420, 10),
        ["yuv422p10le"] = (PlaneLayout.Yuv422, 10),
        ["yuv444p10le"] = (PlaneLayout.Yuv444, 10),
        ["gray10le"] = (PlaneLayout.Luma, 10),
        ["bgr24"] = (PlaneLayout.Bgr24, 8),
    };

    private readonly ClipFacts _facts;
    private readonly Process _process;
    private readonly Stream _pixels;
    private readonly Task _logReader;
    private readonly BlockingCollection<long> _ticks = new();
    private readonly TaskCompletionSource<string?> _pixelFormat = new();
    private readonly Queue<string> _errors = new();
    private readonly PixelRegion _region;
    private readonly Timer _watchdog;

    private volatile bool _gaveUp;
    private PlaneLayout _layout;
    private int _bitDepth;
    private int[]? _planeBytes;
    private double _secondsPerTick = double.NaN;
    private int _graphs;
    private int _delivered;

    /// <summary>Starts the program.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="options">What to deliver.</param>
    /// <param name="inputOptions">Options of the program for the input, to decode only some frames; null for all.</param>
    /// <param name="frameFilter">A filter of the program that lets only some frames pass; null for all.</param>
    /// <exception cref="MissingComponentException">There is no usable program.</exception>
    public FfmpegFrameReader(
        ClipFacts facts, FrameReaderOptions options, IReadOnlyList<string>? inputOptions = null, string? frameFilter = null)
    {
        if (FfmpegProgram.Version is null)
            throw FfmpegProgram.Missing();
        _facts = facts;
        _region = RegionAlignment.WholeColourSamples(options.Region, facts.Orientation);

        string filters = string.Create(CultureInfo.InvariantCulture,
            $"{(frameFilter is null ? "" : frameFilter + ",")}format={string.Join('|', Formats.Keys)},"
            + $"crop={_region.Width}:{_region.Height}:{_region.X}:{_region.Y}:exact=1,showinfo=checksum=0");
        string[] arguments =
        [
            "-nostdin", "-hide_banner", "-nostats", "-loglevel", "level+info", .. FfmpegProgram.InputGuards, .. inputOptions ?? [],
            "-noautorotate", "-i", "file:" + facts.Path, "-map", "0:v:0", "-an", "-sn", "-dn", "-copyts",
            "-vf", filters, "-fps_mode", "passthrough", "-f", "rawvideo", "-",
        ];
        _process = Process.Start(FfmpegProgram.StartInfo(arguments)) ?? throw FfmpegProgram.Missing();
        _pixels = _process.StandardOutput.BaseStream;
        FfmpegProgram.WidenPipe(_pixels);
        _watchdog = new Timer(_ => GiveUp());
        _logReader = Task.Factory.StartNew(ReadLog, CancellationToken.None, TaskCreationOptions.LongRunning, TaskScheduler.Default);
    }

    /// <inheritdoc/>
    public string Name => "ffmpeg " + FfmpegProgram.Version;

    /// <inheritdoc/>
    public ColourDescription Colour
    {
        get
        {
            _planeBytes ??= FindPlaneSizes();
            return _layout == PlaneLayout.Bgr24 ? _facts.Colour with { Matrix = ColourMatrix.Bt601, FullRange = false } : _facts.Colour;
        }
    }

    /// <inheritdoc/>
    public int LostFrames { get; private set; }

    /// <inheritdoc/>
    public bool TryRead(RawFrame frame)
    {
        _watchdog.Change(LongestWait, Timeout.InfiniteTimeSpan);
        try
        {
            return TryReadWatched(frame);
        }
        finally
        {
            _watchdog.Change(Timeout.InfiniteTimeSpan, Timeout.InfiniteTimeSpan);
        }
    }

    public void Dispose()
    {
        Kill();
        _logReader.Wait();
        _watchdog.Dispose();
        _process.Dispose();
        _ticks.Dispose();
    }

    private bool TryReadWatched(RawFrame frame)
    {
        int[]? sizes = _planeBytes ??= FindPlaneSizes();
        if (sizes is null)
        {
            End();
            return false;
        }

        frame.Plane0 = Sized(frame.Plane0, sizes[0]);
        frame.Plane1 = Sized(frame.Plane1, sizes[1]);
        frame.Plane2 = Sized(frame.Plane2, sizes[2]);

        int got = _pixels.ReadAtLeast(frame.Plane0, frame.Plane0.Length, throwOnEndOfStream: false);
        if (got == 0)
        {
            End();
            return false;
        }

        if (got < frame.Plane0.Length || !Fill(frame.Plane1) || !Fill(frame.Plane2))
            throw Unusable(_gaveUp ? Stuck : "the decoder ended in the middle of a frame");

        if (!_ticks.TryTake(out long ticks, Timeout.Infinite))
            throw Unusable("the decoder gave a picture without a time");

        frame.Index = _delivered++;
        frame.TimeSeconds = ticks * _secondsPerTick;
        frame.Region = _region;
        frame.Layout = _layout;
        frame.BitDepth = _bitDepth;
        return true;
    }

    private static byte[] Sized(byte[] buffer, int bytes) => buffer.Length == bytes ? buffer : new byte[bytes];

    // The program says which format the pictures have before it writes the first one.
    private int[]? FindPlaneSizes()
    {
        if (_pixelFormat.Task.GetAwaiter().GetResult() is not { } name)
            return null;
        if (!Formats.TryGetValue(name, out var format))
            throw Unusable($"its pictures have the format {name}, which cannot be used");
        (_layout, _bitDepth) = format;

        int bytes = _bitDepth > 8 ? 2 : 1;
        int full = _region.Width * _region.Height * bytes;
        int halfWidth = (_region.Width + 1) / 2;
        int colour = _layout switch
        {
            PlaneLayout.Yuv420 => halfWidth * ((_region.Height + 1) / 2) * bytes,
            PlaneLayout.Yuv422 => halfWidth * _region.Height * bytes,
            PlaneLayout.Yuv444 => full,
            _ => 0,
        };
        return _layout == PlaneLayout.Bgr24 ? [3 * full, 0, 0] : [full, colour, colour];
    }

    private void GiveUp()
    {
        _gaveUp = true;
        Kill();
    }

    private void Kill()
    {
        try
        {
            _process.Kill();
        }
        catch (InvalidOperationException)
        {
            // It had ended, or was disposed of, already.
        }
    }

    private bool Fill(byte[] buffer) => _pixels.ReadAtLeast(buffer, buffer.Length, throwOnEndOfStream: false) == buffer.Length;

    private void End()
    {
        _logReader.Wait();
        _process.WaitForExit();
        if (_gaveUp)
            throw Unusable(Stuck);
        if (_graphs > 1)
            throw Unusable("the picture changes its size or format within the clip");
        if (_delivered == 0)
            throw Unusable("no picture could be decoded" + (_errors.Count > 0 ? " (" + string.Join("; ", _errors) + ")" : ""));
        LostFrames = Math.Max(0, (_facts.AnnouncedFrames ?? 0) - _delivered);
    }

    private void ReadLog()
    {
        try
        {
            while (_process.StandardError.ReadLine() is string line)
            {
                if (ShowInfo().Match(line) is { Success: true } frame)
                {
                    // "NOPTS" is no number: the queue is closed, and the picture found to be without a time.
                    if (!long.TryParse(frame.Groups[1].ValueSpan, CultureInfo.InvariantCulture, out long ticks))
                        _ticks.CompleteAdding();
                    if (!_ticks.IsAddingCompleted)
                        _ticks.Add(ticks);
                    _pixelFormat.TrySetResult(frame.Groups[2].Value);
                }
                else if (TimeBase().Match(line) is { Success: true } config)
                {
                    _graphs++;
                    _secondsPerTick = double.Parse(config.Groups[1].ValueSpan, CultureInfo.InvariantCulture)
                        / double.Parse(config.Groups[2].ValueSpan, CultureInfo.InvariantCulture);
                }
                else if (line.Contains("[error]", StringComparison.Ordinal) || line.Contains("[fatal]", StringComparison.Ordinal))
                {
                    _errors.Enqueue(line);
                    if (_errors.Count > MaxKeptErrors)
                        _errors.Dequeue();
                }
            }
        }
        finally
        {
            _ticks.CompleteAdding();
            _pixelFormat.TrySetResult(null);
        }
    }

    private UnusableInputException Unusable(string problem) =>
        new(_facts.Path, problem, "Copy the original file from the camera again, or try --reader embedded.");

    [GeneratedRegex(@" n: *\d+ pts: *(-?\w+) .* fmt:(\w+) ")]
    private static partial Regex ShowInfo();

    [GeneratedRegex(@"config in time_base: (\d+)/(\d+)")]
    private static partial Regex TimeBase();
}
