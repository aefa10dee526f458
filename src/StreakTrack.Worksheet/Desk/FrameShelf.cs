using Microsoft.Win32.SafeHandles;
using StreakTrack.Core;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Worksheet.Desk;

/// <summary>Pictures of single frames for the page, by exact frame number.</summary>
/// <remarks>
/// The clip is looked through once in the background: that gives the time of every frame, and a scaled picture of as many as the budget allows,
/// kept in a temporary file. A frame that is not there is decoded when asked for, from the place to which its time leads, and its
/// neighbours with it.
/// </remarks>
internal sealed class FrameShelf : IDisposable
{
    /// <summary>Width of the pictures kept, in px: as wide as the page shows them.</summary>
    private const int ShownWidthPx = 1280;
    private const int ShownQuality = 82;

    /// <summary>Bytes of pictures kept in the temporary file: some minutes of a clip.</summary>
    private const long Budget = 400L << 20;

    /// <summary>Frames decoded beyond one asked for, because the next one asked for is likely its neighbour.</summary>
    private const int Ahead = 12;

    /// <summary>Pictures decoded on demand that stay in memory.</summary>
    private const int RecentCount = 64;

    /// <summary>Decodings on demand at one time.</summary>
    private const int Decoders = 2;

    private readonly ClipFacts _facts;
    private readonly ReaderChoice _reader;
    private readonly Action _grown;
    private readonly Lock _lock = new();
    private readonly List<double> _times = [];
    private readonly List<(long Place, int Length)> _kept = [];
    private readonly SafeFileHandle _file;
    private readonly Dictionary<(int Frame, bool Full), byte[]> _recent = [];
    private readonly Queue<(int Frame, bool Full)> _recentOrder = new();
    private readonly SemaphoreSlim _decoders = new(Decoders);
    private readonly CancellationTokenSource _closing = new();
    private readonly ManualResetEventSlim _mayRun = new(initialState: true);
    private readonly Task _lookThrough;
    private long _end;
    private int _waiting;

    /// <summary>Begins to look through a clip.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="reader">Which reader to use.</param>
    /// <param name="grown">Told when more frames are known.</param>
    public FrameShelf(ClipFacts facts, ReaderChoice reader, Action grown)
    {
        (_facts, _reader, _grown) = (facts, reader, grown);
        _file = TemporaryFile.Open();
        _lookThrough = Task.Factory.StartNew(LookThrough, CancellationToken.None, TaskCreationOptions.LongRunning, TaskScheduler.Default);
    }

    /// <summary>Whether the whole clip was seen.</summary>
    public bool IsComplete { get; private set; }

    /// <summary>Why looking through ended early; null when it did not.</summary>
    public string? Problem { get; private set; }

    /// <summary>Times of the frames known so far, in s.</summary>
    public double[] Times()
    {
        lock (_lock)
            return [.. _times];
    }

    /// <summary>Frames known so far.</summary>
    public int Count
    {
        get
        {
            lock (_lock)
                return _times.Count;
        }
    }

    /// <summary>Lets the looking through rest while something more urgent needs the machine.</summary>
    public void Rest(bool rest)
    {
        if (rest)
            _mayRun.Reset();
        else
            _mayRun.Set();
    }

    /// <summary>A JPEG picture of a frame.</summary>
    /// <param name="frame">Number of the frame, from 0.</param>
    /// <param name="full">Whether in full size; else scaled to the page.</param>
    /// <param name="cancellationToken">The page no longer wants it.</param>
    /// <returns>The picture; null when the clip has no such frame.</returns>
    public async Task<byte[]?> PictureAsync(int frame, bool full, CancellationToken cancellationToken)
    {
        using var either = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken, _closing.Token);
        CancellationToken token = either.Token;
        while (frame >= Count)
        {
            if (IsComplete || frame < 0)
                return null;
            _mayRun.Set();
            await Task.Delay(20, token);
        }

        if (TryTake(frame, full) is byte[] there)
            return there;
        Interlocked.Increment(ref _waiting);
        try
        {
            await _decoders.WaitAsync(token);
        }
        finally
        {
            Interlocked.Decrement(ref _waiting);
        }

        if (TryTake(frame, full) is byte[] meanwhile)
        {
            _decoders.Release();
            return meanwhile;
        }

        var first = new TaskCompletionSource<byte[]?>(TaskCreationOptions.RunContinuationsAsynchronously);
        _ = Task.Run(() => Decode(frame, full, first), CancellationToken.None);
        return await first.Task.WaitAsync(token);
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _closing.Cancel();
        _mayRun.Set();
        _lookThrough.Wait(TimeSpan.FromSeconds(5));
        _file.Dispose();
    }

    private byte[]? TryTake(int frame, bool full)
    {
        (long place, int length) kept;
        lock (_lock)
        {
            if (_recent.TryGetValue((frame, full), out byte[]? recent))
                return recent;
            kept = frame < _kept.Count ? _kept[frame] : default;
        }

        if ((full && _facts.Orientation.DisplayWidth > ShownWidthPx) || kept.length == 0)
            return null;
        byte[] bytes = new byte[kept.length];
        return RandomAccess.Read(_file, bytes, kept.place) == bytes.Length ? bytes : null;
    }

    private void Remember(int frame, bool full, byte[] picture)
    {
        lock (_lock)
        {
            if (!_recent.TryAdd((frame, full), picture))
                return;
            _recentOrder.Enqueue((frame, full));
            if (_recentOrder.Count > RecentCount)
                _recent.Remove(_recentOrder.Dequeue());
        }
    }

    private byte[] Develop(RawFrame frame, ColourDescription colour, bool full) => DisplayPicture.ToJpeg(
        frame, colour, _facts.Orientation, full ? int.MaxValue : ShownWidthPx, full ? 92 : ShownQuality);

    private void LookThrough()
    {
        try
        {
            using IFrameReader reader = ClipFile.OpenReader(_facts, new FrameReaderOptions { Reader = _reader });
            var frame = new RawFrame();
            long told = 0;
            while (reader.TryRead(frame))
            {
                byte[] picture = _end < Budget ? Develop(frame, reader.Colour, full: false) : [];
                if (picture.Length > 0)
                    RandomAccess.Write(_file, picture, _end);
                lock (_lock)
                {
                    _times.Add(frame.TimeSeconds);
                    _kept.Add((_end, picture.Length));
                }

                _end += picture.Length;
                if (Environment.TickCount64 - told > 250)
                {
                    told = Environment.TickCount64;
                    _grown();
                }

                _mayRun.Wait(_closing.Token);
                _closing.Token.ThrowIfCancellationRequested();
            }
        }
        catch (OperationCanceledException)
        {
        }
        catch (Exception e) when (e is UnusableInputException or MissingComponentException or IOException)
        {
            Problem = e.Message;
        }

        IsComplete = true;
        _grown();
    }

    private void Decode(int frame, bool full, TaskCompletionSource<byte[]?> first)
    {
        try
        {
            double[] times = Times();
            var options = new FrameReaderOptions { Reader = _reader, ReadAhead = 0 };
            var raw = new RawFrame();
            IFrameReader reader = ClipFile.OpenReaderAt(_facts, options, times[frame]);
            try
            {
                bool found = reader.TryRead(raw) && IsAt(times[frame]);
                if (!found)
                {
                    // The decoder began too late: the sure way is from the first frame on.
                    reader.Dispose();
                    reader = ClipFile.OpenReader(_facts, options);
                    while (!found && reader.TryRead(raw) && !_closing.IsCancellationRequested)
                        found = raw.Index == frame;
                }

                byte[]? picture = found ? Develop(raw, reader.Colour, full) : null;
                if (picture is not null)
                    Remember(frame, full, picture);
                first.TrySetResult(picture);
                for (int next = frame + 1; found && !full && next <= frame + Ahead && next < times.Length; next++)
                {
                    if (_closing.IsCancellationRequested || Volatile.Read(ref _waiting) > 0 || !reader.TryRead(raw) || !IsAt(times[next]))
                        break;
                    Remember(next, full, Develop(raw, reader.Colour, full));
                }
            }
            finally
            {
                reader.Dispose();
            }

            bool IsAt(double time) => Math.Abs(raw.TimeSeconds - time) < 0.0005;
        }
        catch (Exception e)
        {
            // Whoever waits is told; nobody waits for the neighbours.
            first.TrySetException(e);
        }
        finally
        {
            _decoders.Release();
        }
    }
}
