using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Text.RegularExpressions;
using StreakTrack.Core;

namespace StreakTrack.Imaging.Clips;

/// <summary>Reads frames from an installed ffmpeg program: raw planes through a pipe, exact times from its log.</summary>
/// <remarks>Planes come in the stream's own format, neither scaled nor converted. Times are the container's, in whole ticks.</remarks>
internal sealed partial class FfmpegFrameReader : IFrameReader
{
    private const int MaxKeptErrors = 5;

    private readonly ClipFacts _facts;
    private readonly Process _process;
    private readonly Stream _pixels;
    private readonly Task _logReader;
    private readonly BlockingCollection<long> _ticks = new();
    private readonly Queue<string> _errors = new();
    private readonly PixelRegion _region;
    private readonly PlaneLayout _layout;
    private readonly int[] _planeBytes;

    private double _secondsPerTick = double.NaN;
    private int _errorCount;
    private int _graphs;
    private int _delivered;

    /// <summary>Starts the program.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="options">What to deliver.</param>
    /// <param name="inputOptions">Options of the program for the input, to decode only some frames; null for all.</param>
    /// <param name="frameFilter">A filter of the program that lets only some frames pass; null for all.</param>
    public FfmpegFrameReader(
        ClipFacts facts, FrameReaderOptions options, IReadOnlyList<string>? inputOptions = null, string? frameFilter = null)
    {
        _facts = facts;
        (string pixelFormat, _layout, int bitDepth) = OutputFormat(facts.PixelFormat);
        BitDepth = bitDepth;
        _region = WholeColourSamples(options.Region ?? new PixelRegion(0, 0, facts.Orientation.CodedWidth, facts.Orientation.CodedHeight), facts);
        _planeBytes = PlaneSizes(_region, _layout, bitDepth);

        string crop = string.Create(CultureInfo.InvariantCulture,
            $"{(frameFilter is null ? "" : frameFilter + ",")}crop={_region.Width}:{_region.Height}:{_region.X}:{_region.Y}:exact=1,showinfo=checksum=0");
        string[] arguments =
        [
            "-nostdin", "-hide_banner", "-nostats", "-loglevel", "level+info", .. FfmpegProgram.InputGuards, .. inputOptions ?? [],
            "-noautorotate", "-i", "file:" + facts.Path, "-map", "0:v:0", "-an", "-sn", "-dn", "-copyts",
            "-vf", crop, "-fps_mode", "passthrough", "-pix_fmt", pixelFormat, "-f", "rawvideo", "-",
        ];
        _process = Process.Start(FfmpegProgram.StartInfo(arguments))
            ?? throw new MissingComponentException("the ffmpeg program could not be started", "Use --reader embedded.");
        _pixels = _process.StandardOutput.BaseStream;
        _logReader = Task.Factory.StartNew(ReadLog, CancellationToken.None, TaskCreationOptions.LongRunning, TaskScheduler.Default);
    }

    /// <inheritdoc/>
    public string Name => "ffmpeg " + FfmpegProgram.Version;

    /// <inheritdoc/>
    public ColourDescription Colour => _facts.Colour;

    /// <inheritdoc/>
    public int LostFrames { get; private set; }

    private int BitDepth { get; }

    /// <inheritdoc/>
    public bool TryRead(RawFrame frame)
    {
        frame.Plane0 = Sized(frame.Plane0, _planeBytes[0]);
        frame.Plane1 = Sized(frame.Plane1, _planeBytes[1]);
        frame.Plane2 = Sized(frame.Plane2, _planeBytes[2]);

        int got = _pixels.ReadAtLeast(frame.Plane0, frame.Plane0.Length, throwOnEndOfStream: false);
        if (got == 0)
        {
            End();
            return false;
        }

        if (got < frame.Plane0.Length || !Fill(frame.Plane1) || !Fill(frame.Plane2))
            throw Unusable("the decoder ended in the middle of a frame");

        if (!_ticks.TryTake(out long ticks, Timeout.Infinite))
            throw Unusable("the decoder gave a picture without a time");

        frame.Index = _delivered++;
        frame.TimeSeconds = ticks * _secondsPerTick;
        frame.Region = _region;
        frame.Layout = _layout;
        frame.BitDepth = BitDepth;
        return true;
    }

    public void Dispose()
    {
        if (!_process.HasExited)
        {
            try
            {
                _process.Kill();
            }
            catch (InvalidOperationException)
            {
                // It ended by itself between the question and the kill.
            }
        }

        _logReader.Wait();
        _process.Dispose();
        _ticks.Dispose();
    }

    private static byte[] Sized(byte[] buffer, int bytes) => buffer.Length == bytes ? buffer : new byte[bytes];

    private static (string PixelFormat, PlaneLayout Layout, int BitDepth) OutputFormat(string pixelFormat) => pixelFormat switch
    {
        "yuv420p" or "yuvj420p" => (pixelFormat, PlaneLayout.Yuv420, 8),
        "yuv422p" or "yuvj422p" => (pixelFormat, PlaneLayout.Yuv422, 8),
        "yuv444p" or "yuvj444p" => (pixelFormat, PlaneLayout.Yuv444, 8),
        "yuv420p10le" => (pixelFormat, PlaneLayout.Yuv420, 10),
        "yuv422p10le" => (pixelFormat, PlaneLayout.Yuv422, 10),
        "yuv444p10le" => (pixelFormat, PlaneLayout.Yuv444, 10),
        "gray" => (pixelFormat, PlaneLayout.Luma, 8),
        _ => ("bgr24", PlaneLayout.Bgr24, 8),
    };

    // Rounds outward to whole colour samples, so that the planes' sizes are whole numbers.
    private static PixelRegion WholeColourSamples(PixelRegion region, ClipFacts facts)
    {
        int left = Math.Clamp(region.X, 0, facts.Orientation.CodedWidth - 1) & ~1;
        int top = Math.Clamp(region.Y, 0, facts.Orientation.CodedHeight - 1) & ~1;
        int right = Math.Clamp((region.X + region.Width + 1) & ~1, left + 1, facts.Orientation.CodedWidth);
        int bottom = Math.Clamp((region.Y + region.Height + 1) & ~1, top + 1, facts.Orientation.CodedHeight);
        return new PixelRegion(left, top, right - left, bottom - top);
    }

    private static int[] PlaneSizes(PixelRegion region, PlaneLayout layout, int bitDepth)
    {
        int bytes = bitDepth > 8 ? 2 : 1;
        int full = region.Width * region.Height * bytes;
        int halfWidth = (region.Width + 1) / 2;
        int colour = layout switch
        {
            PlaneLayout.Yuv420 => halfWidth * ((region.Height + 1) / 2) * bytes,
            PlaneLayout.Yuv422 => halfWidth * region.Height * bytes,
            PlaneLayout.Yuv444 => full,
            _ => 0,
        };
        return layout == PlaneLayout.Bgr24 ? [3 * full, 0, 0] : [full, colour, colour];
    }

    private bool Fill(byte[] buffer) => _pixels.ReadAtLeast(buffer, buffer.Length, throwOnEndOfStream: false) == buffer.Length;

    private void End()
    {
        _logReader.Wait();
        _process.WaitForExit();
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
                    _ticks.Add(long.Parse(frame.Groups[1].ValueSpan, CultureInfo.InvariantCulture));
                }
                else if (TimeBase().Match(line) is { Success: true } config)
                {
                    _graphs++;
                    _secondsPerTick = double.Parse(config.Groups[1].ValueSpan, CultureInfo.InvariantCulture)
                        / double.Parse(config.Groups[2].ValueSpan, CultureInfo.InvariantCulture);
                }
                else if (line.Contains("[error]", StringComparison.Ordinal) || line.Contains("[fatal]", StringComparison.Ordinal))
                {
                    _errorCount++;
                    _errors.Enqueue(line);
                    if (_errors.Count > MaxKeptErrors)
                        _errors.Dequeue();
                }
            }
        }
        finally
        {
            _ticks.CompleteAdding();
        }
    }

    private UnusableInputException Unusable(string problem) =>
        new(_facts.Path, problem, "Copy the original file from the camera again, or try --reader embedded.");

    [GeneratedRegex(@" n: *\d+ pts: *(-?\d+) ")]
    private static partial Regex ShowInfo();

    [GeneratedRegex(@"config in time_base: (\d+)/(\d+)")]
    private static partial Regex TimeBase();
}
