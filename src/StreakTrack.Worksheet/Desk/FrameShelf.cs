using Microsoft.Win32.SafeHandles;
using StreakTrack.Core;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Worksheet.Desk;

/// <summary>Pictures of single frames for the page, by exact frame number.</summary>
/// <remarks>
/// A frame is decoded when asked for, from the place to which its time leads, and its neighbours with it; times are known at once from the
/// container's index or from an earlier measurement. Beside that the clip is looked through once, when nothing else is to be done: that confirms the
/// times, and keeps a scaled picture of as many frames as the budget allows in a temporary file.
/// </remarks>
internal sealed class FrameShelf : IDisposable
{
    /// <summary>Width of the pictures kept, in px: as wide as the page shows them.</summary>
    internal const int ShownWidthPx = 1280;

    private const int ShownQuality = 82;
    private const int FullQuality = 92;

    /// <summary>Bytes of pictures kept in the temporary file: some minutes of a clip.</summary>
    private const long Budget = 400L << 20;

    /// <summary>Bytes of pictures decoded on demand that stay in memory.</summary>
    private const long RecentBudget = 48L << 20;

    /// <summary>Frames decoded beyond one asked for, because the next one asked for is likely its neighbour.</summary>
    private const int Ahead = 12;

    /// <summary>Decodings on demand at one time.</summary>
    private const int Decoders = 2;

    /// <summary>Two times are the same within this, in s; no two frames are that close.</summary>
    private const double SameTime = 0.0005;

    private readonly ClipFacts _facts;
    private readonly ReaderChoice _reader;
    private readonly Action _grown;
    private readonly Lock _lock = new();
    private readonly List<double> _seen = [];
    private readonly List<(long Place, int Length)> _kept = [];
    private readonly SafeFileHandle _file;
    private readonly Dictionary<(int Frame, bool Full), byte[]> _recent = [];
    private readonly Queue<(int Frame, bool Full)> _recentOrder = new();
    private readonly SemaphoreSlim _decoders = new(Decoders);
    private readonly CancellationTokenSource _closing = new();
    private readonly ManualResetEventSlim _mayLook = new(initialState: true);
    private readonly Task _lookThrough;
    private double[] _announced = [];
    private TaskCompletionSource _more = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private long _end, _recentBytes;
    private bool _resting;
    private int _decoding, _waitingForTimes, _waitingForDecoder;

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

    /// <summary>Whether every frame was seen, so that <see cref="Count"/> is final.</summary>
    public bool IsComplete { get; private set; }

    /// <summary>Why looking through ended early; null when it did not.</summary>
    public string? Problem { get; private set; }

    /// <summary>Frames as far as they are known: seen, or announced by the container.</summary>
    public int Count
    {
        get
        {
            lock (_lock)
                return IsComplete ? _seen.Count : Math.Max(_seen.Count, _announced.Length);
        }
    }

    /// <summary>Lets the looking through rest while something more urgent needs the machine.</summary>
    public void Rest(bool rest)
    {
        lock (_lock)
            _resting = rest;
        Regulate();
    }

    /// <summary>Takes the times of all frames from a measurement, which has seen them all.</summary>
    public void Learn(IReadOnlyList<double> times)
    {
        lock (_lock)
        {
            for (int k = _seen.Count; k < times.Count; k++)
                _seen.Add(times[k]);
            IsComplete = true;
        }

        TellMore();
        _grown();
    }

    /// <summary>Whether a frame was seen, so that its picture is certain to be that of this number.</summary>
    public bool HasSeen(int frame)
    {
        lock (_lock)
            return frame >= 0 && frame < _seen.Count;
    }

    /// <summary>A JPEG picture of a frame.</summary>
    /// <param name="frame">Number of the frame, from 0.</param>
    /// <param name="full">Whether in full size; else scaled to the page.</param>
    /// <param name="cancellationToken">The page no longer wants it; decoding stops.</param>
    /// <returns>The picture; null when the clip has no such frame.</returns>
    public async Task<byte[]?> PictureAsync(int frame, bool full, CancellationToken cancellationToken)
    {
        full &= _facts.Orientation.DisplayWidth > ShownWidthPx;
        using var either = CancellationTokenSource.CreateLinkedTokenSource(cancellationToken, _closing.Token);
        if (TryTake(frame, full) is byte[] there)
            return there;
        for (bool trustsIndex = true; ; trustsIndex = false)
        {
            if (await TimeAsync(frame, trustsIndex, either.Token) is not (double time, bool seen))
                return null;
            if (await DecodedAsync(frame, time, seen, full, either.Token) is byte[] picture)
                return picture;
            if (seen)
                return null;

            // Not the frame that the container's index promised, so the clip is damaged: only looking through it tells which frame is which.
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _closing.Cancel();
        _lookThrough.Wait(TimeSpan.FromSeconds(5));
        _file.Dispose();
    }

    // The time of a frame, and whether the frame was seen there; null when there is no such frame.
    private async Task<(double Time, bool Seen)?> TimeAsync(int frame, bool trustsIndex, CancellationToken cancellationToken)
    {
        while (true)
        {
            Task more;
            lock (_lock)
            {
                if (frame >= 0 && frame < _seen.Count)
                    return (_seen[frame], true);
                if (IsComplete || frame < 0)
                    return null;
                if (trustsIndex && frame < _announced.Length)
                    return (_announced[frame], false);
                more = _more.Task;
                _waitingForTimes++;
            }

            Regulate();
            try
            {
                await more.WaitAsync(cancellationToken);
            }
            finally
            {
                lock (_lock)
                    _waitingForTimes--;
                Regulate();
            }
        }
    }

    private async Task<byte[]?> DecodedAsync(int frame, double time, bool seen, bool full, CancellationToken cancellationToken)
    {
        Interlocked.Increment(ref _waitingForDecoder);
        try
        {
            await _decoders.WaitAsync(cancellationToken);
        }
        finally
        {
            Interlocked.Decrement(ref _waitingForDecoder);
        }

        var first = new TaskCompletionSource<byte[]?>(TaskCreationOptions.RunContinuationsAsynchronously);
        bool begun = false;
        try
        {
            if (TryTake(frame, full) is byte[] meanwhile)
                return meanwhile;
            Decoding(+1);
            _ = Task.Run(() => DecodeFrom(frame, time, seen, full, first, cancellationToken), CancellationToken.None);
            begun = true;
        }
        finally
        {
            // Once begun, the place is given back when the neighbours are done too.
            if (!begun)
                _decoders.Release();
        }

        return await first.Task;
    }

    private void Decoding(int more)
    {
        lock (_lock)
            _decoding += more;
        Regulate();
    }

    // Looking through gives way to whatever is asked for, and goes on even at rest when somebody waits for it.
    private void Regulate()
    {
        lock (_lock)
        {
            if (_waitingForTimes > 0 || (!_resting && _decoding == 0) || _closing.IsCancellationRequested)
                _mayLook.Set();
            else
                _mayLook.Reset();
        }
    }

    private byte[]? TryTake(int frame, bool full)
    {
        (long place, int length) kept;
        lock (_lock)
        {
            if (_recent.TryGetValue((frame, full), out byte[]? recent))
                return recent;
            kept = frame >= 0 && frame < _kept.Count ? _kept[frame] : default;
        }

        if (full || kept.length == 0)
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
            _recentBytes += picture.Length;
            while (_recentBytes > RecentBudget && _recentOrder.Count > 1 && _recent.Remove(_recentOrder.Dequeue(), out byte[]? oldest))
                _recentBytes -= oldest.Length;
        }
    }

    /// <summary>The picture of a frame that was decoded.</summary>
    internal static byte[] Develop(RawFrame frame, ColourDescription colour, DisplayOrientation orientation, bool full) => DisplayPicture.ToJpeg(
        frame, colour, orientation, full ? int.MaxValue : ShownWidthPx, full ? FullQuality : ShownQuality);

    private void TellMore()
    {
        TaskCompletionSource told;
        lock (_lock)
            (told, _more) = (_more, new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously));
        told.TrySetResult();
    }

    private void LookThrough()
    {
        try
        {
            double[] announced = ClipFile.AnnouncedTimes(_facts, _closing.Token);
            lock (_lock)
                _announced = announced;
            TellMore();
            using IFrameReader reader = ClipFile.OpenReader(_facts, new FrameReaderOptions { Reader = _reader });
            var frame = new RawFrame();
            long told = 0;
            while (reader.TryRead(frame))
            {
                byte[] picture = _end < Budget ? Develop(frame, reader.Colour, _facts.Orientation, full: false) : [];
                if (picture.Length > 0)
                    RandomAccess.Write(_file, picture, _end);
                Put(frame.TimeSeconds, picture.Length);

                _end += picture.Length;
                TellMore();
                if (Environment.TickCount64 - told > 250)
                {
                    told = Environment.TickCount64;
                    _grown();
                }

                _mayLook.Wait(_closing.Token);
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

        lock (_lock)
            IsComplete = true;
        TellMore();
        _grown();
    }

    private void Put(double time, int length)
    {
        lock (_lock)
        {
            int frame = _kept.Count;
            if (frame == _seen.Count)
                _seen.Add(time);
            _kept.Add((_end, length));
            if (frame >= _announced.Length || Math.Abs(_announced[frame] - time) < SameTime)
                return;

            // The clip is damaged, and what was decoded by its index may be other frames.
            _announced = [];
            _recent.Clear();
            _recentOrder.Clear();
            _recentBytes = 0;
        }
    }

    private void DecodeFrom(
        int frame, double time, bool seen, bool full, TaskCompletionSource<byte[]?> first, CancellationToken cancellationToken)
    {
        try
        {
            var options = new FrameReaderOptions { Reader = _reader, ReadAhead = 0 };
            var raw = new RawFrame();
            IFrameReader reader = ClipFile.OpenReaderAt(_facts, options, time, cancellationToken);
            try
            {
                bool found = reader.TryRead(raw) && IsAt(time);
                if (!found && seen)
                {
                    // The decoder began too late: the sure way is from the first frame on.
                    reader.Dispose();
                    reader = ClipFile.OpenReader(_facts, options);
                    while (!found && reader.TryRead(raw))
                    {
                        cancellationToken.ThrowIfCancellationRequested();
                        found = raw.Index == frame;
                    }
                }

                byte[]? picture = found ? Develop(raw, reader.Colour, _facts.Orientation, full) : null;
                if (picture is not null)
                    Remember(frame, full, picture);
                first.TrySetResult(picture);
                for (int next = frame + 1; found && !full && next <= frame + Ahead; next++)
                {
                    if (_closing.IsCancellationRequested || Volatile.Read(ref _waitingForDecoder) > 0 || TryTake(next, full) is not null)
                        break;
                    double? at = KnownTime(next);
                    if (at is null || !reader.TryRead(raw) || !IsAt(at.Value))
                        break;
                    Remember(next, full, Develop(raw, reader.Colour, _facts.Orientation, full));
                }
            }
            finally
            {
                reader.Dispose();
            }

            bool IsAt(double expected) => Math.Abs(raw.TimeSeconds - expected) < SameTime;
        }
        catch (OperationCanceledException)
        {
            first.TrySetCanceled(cancellationToken);
        }
        catch (Exception e)
        {
            // Whoever waits is told; nobody waits for the neighbours.
            first.TrySetException(e);
        }
        finally
        {
            Decoding(-1);
            _decoders.Release();
        }
    }

    private double? KnownTime(int frame)
    {
        lock (_lock)
            return frame < _seen.Count ? _seen[frame] : frame < _announced.Length ? _announced[frame] : null;
    }
}
