using System.Diagnostics;
using System.Globalization;
using StreakTrack.Core;
using StreakTrack.Core.Findings;

namespace StreakTrack.Imaging.Clips;

/// <summary>Reads frames from an installed ffmpeg program: raw planes through a pipe, exact times from its log.</summary>
/// <remarks>
/// Planes come in the stream's own format, neither scaled nor converted, unless no <see cref="PlaneLayout"/> fits it. Times are the
/// container's, in whole ticks. The program ends when the reader is disposed of, and when this process ends in whatever way, because
/// nobody reads its pipe any more.
/// </remarks>
internal sealed class FfmpegFrameReader : IFrameReader
{
    /// <summary>The longest that is waited for one frame, in ms. Decoding one takes well below a second; only a broken file takes for ever.</summary>
    private const int FrameLimitMilliseconds = 60_000;

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
    private readonly PixelRegion _region;
    private readonly Process _process;
    private readonly Stream _pixels;
    private readonly FfmpegLog _log;
    private readonly Timer _watchdog;
    private readonly CancellationToken _cancellationToken;
    private readonly CancellationTokenRegistration _cancelling;

    private (PlaneLayout Layout, int BitDepth)? _format;
    private long? _firstTicks;
    private int _delivered;
    private bool _ended;
    private volatile bool _overdue;

    /// <summary>Starts the program.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="options">What to deliver.</param>
    /// <param name="inputOptions">Options of the program for the input, to decode only some frames; null for all.</param>
    /// <param name="frameFilter">A filter of the program that lets only some frames pass; null for all.</param>
    /// <param name="cancellationToken">Ends the program; a read under way then says so.</param>
    /// <exception cref="MissingComponentException">There is no usable program.</exception>
    public FfmpegFrameReader(
        ClipFacts facts, FrameReaderOptions options, IReadOnlyList<string>? inputOptions = null, string? frameFilter = null,
        CancellationToken cancellationToken = default)
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
        _log = new FfmpegLog(_process.StandardError.BaseStream);
        _watchdog = new Timer(_ => GiveUp(), null, Timeout.Infinite, Timeout.Infinite);
        _cancellationToken = cancellationToken;
        _cancelling = cancellationToken.Register(() => FfmpegProgram.Kill(_process));
    }

    /// <inheritdoc/>
    public string Name => "ffmpeg " + FfmpegProgram.Version;

    /// <inheritdoc/>
    public ColourDescription Colour
    {
        get
        {
            // Before the first read this waits for the decoder, like a read.
            _watchdog.Change(FrameLimitMilliseconds, Timeout.Infinite);
            try
            {
                return Format().Layout == PlaneLayout.Bgr24 ? _facts.Colour with { Matrix = ColourMatrix.Bt601, FullRange = false } : _facts.Colour;
            }
            finally
            {
                _watchdog.Change(Timeout.Infinite, Timeout.Infinite);
            }
        }
    }

    /// <inheritdoc/>
    public int LostFrames { get; private set; }

    /// <inheritdoc/>
    public IReadOnlyList<Finding> Findings { get; private set; } = [];

    /// <inheritdoc/>
    public bool TryRead(RawFrame frame)
    {
        if (_ended)
            return false;
        _cancellationToken.ThrowIfCancellationRequested();
        _watchdog.Change(FrameLimitMilliseconds, Timeout.Infinite);
        try
        {
            // The log names a frame before the pipe brings it; the first time was taken already if the format was asked for.
            long ticks;
            if (_firstTicks is long first)
            {
                (_firstTicks, ticks) = (null, first);
            }
            else if (!_log.TryTakeTicks(out ticks))
            {
                End();
                return false;
            }

            if (_log.Graphs > 1)
                throw Changed();
            (PlaneLayout layout, int bitDepth) = Format();
            frame.Shape(_region, layout, bitDepth);
            if (!Fill(frame.Plane0) || !Fill(frame.Plane1) || !Fill(frame.Plane2))
            {
                if (_overdue)
                    throw Unusable(Overdue());
                RequireOrderlyEnd();
                throw Unusable("the decoder ended in the middle of a frame");
            }

            frame.Index = _delivered++;
            frame.TimeSeconds = ticks * _log.SecondsPerTick;
            return true;
        }
        catch (Exception e) when (_cancellationToken.IsCancellationRequested)
        {
            // Whatever the program that was ended left behind.
            throw new OperationCanceledException("The decoding was given up.", e, _cancellationToken);
        }
        finally
        {
            _watchdog.Change(Timeout.Infinite, Timeout.Infinite);
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _cancelling.Dispose();
        FfmpegProgram.Kill(_process);
        _log.Dispose();
        _watchdog.Dispose();
        _process.Dispose();
    }

    // The program says which format the pictures have before it writes the first one.
    private (PlaneLayout Layout, int BitDepth) Format()
    {
        if (_format is not null)
            return _format.Value;
        if (_log.PixelFormat is null && _firstTicks is null && _log.TryTakeTicks(out long ticks))
            _firstTicks = ticks;
        if (_log.PixelFormat is not string name)
            return (PlaneLayout.Luma, 8);   // there will be no frame
        if (!Formats.TryGetValue(name, out (PlaneLayout Layout, int BitDepth) format))
            throw Unusable($"its pictures have the format {name}, which cannot be used");
        _format = format;
        return format;
    }

    private bool Fill(byte[] buffer) => _pixels.ReadAtLeast(buffer, buffer.Length, throwOnEndOfStream: false) == buffer.Length;

    private void End()
    {
        _ended = true;
        if (_overdue)
            throw Unusable(Overdue());

        // A frame that came without a time leaves its pixels in the pipe.
        if (_pixels.ReadByte() >= 0)
            throw Unusable("the decoder gave a picture without a time");
        _log.Finish();
        RequireOrderlyEnd();
        if (_log.Graphs > 1)
            throw Changed();
        if (_delivered == 0)
            throw Unusable("no picture could be decoded" + (_log.FirstComplaint is string complaint ? $" ({complaint})" : ""));
        LostFrames = Math.Max(0, (_facts.AnnouncedFrames ?? 0) - _delivered);
        if (_log.Complaints > 0)
        {
            Findings =
            [
                FindingKinds.FramesDamaged.With(string.Create(CultureInfo.InvariantCulture,
                    $"The decoder complained {_log.Complaints} times, first: {_log.FirstComplaint}")),
            ];
        }
    }

    /// <summary>A program that was killed leaves a series that looks like a shorter clip's, so its end is looked at.</summary>
    private void RequireOrderlyEnd()
    {
        // 128 + the signal's number; 255 is the program's own answer to a request to end.
        const int illegal = 132, abort = 134, bus = 135, arithmetic = 136, killed = 137, segment = 139, terminated = 143, asked = 255;
        _process.WaitForExit();
        switch (_process.ExitCode)
        {
            case killed or terminated or asked:
                throw new MissingComponentException($"the ffmpeg program was ended from outside while it decoded {_facts.Path}",
                    "Run it again; if memory ran out, close other programs first, or choose the embedded decoder with --reader embedded.");
            case illegal or abort or bus or arithmetic or segment:
                throw new UnusableInputException(_facts.Path, "the decoder crashed on it", "Copy the original file from the camera again.");
        }
    }

    private void GiveUp()
    {
        _overdue = true;
        FfmpegProgram.Kill(_process);
    }

    private static string Overdue() => $"the decoder gave no picture for {FrameLimitMilliseconds / 1000} s";

    // Not for the embedded decoder either, which such a picture may crash.
    private UnusableInputException Changed() =>
        new(_facts.Path, "the picture changes its size or format within the clip", "Hand in the camera's original file.");

    private UnusableInputException Unusable(string problem) =>
        new(_facts.Path, problem, "Copy the original file from the camera again, or try --reader embedded.");
}
