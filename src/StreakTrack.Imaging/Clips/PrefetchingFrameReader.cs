using System.Collections.Concurrent;
using System.Runtime.ExceptionServices;
using StreakTrack.Core.Findings;

namespace StreakTrack.Imaging.Clips;

/// <summary>Runs another reader ahead of its user, on a thread of its own and into a fixed number of reused buffers.</summary>
/// <remarks>Frames come in the same order and with the same contents; an error comes at the frame where the other reader met it.</remarks>
public sealed class PrefetchingFrameReader : IFrameReader
{
    private readonly IFrameReader _inner;
    private readonly Thread _thread;
    private readonly BlockingCollection<RawFrame> _free = [];
    private readonly BlockingCollection<RawFrame> _filled = [];
    private readonly CancellationTokenSource _stop = new();
    private ExceptionDispatchInfo? _error;

    /// <summary>Starts reading.</summary>
    /// <param name="inner">The reader; used and disposed of by this one from now on.</param>
    /// <param name="buffers">Frames that may be read ahead, at least 1.</param>
    public PrefetchingFrameReader(IFrameReader inner, int buffers)
    {
        _inner = inner;
        for (int i = 0; i < buffers; i++)
            _free.Add(new RawFrame());

        // A reader belongs to one thread at a time, and one that has to look at the first frame for its colour would take that frame's
        // time from under the thread that reads.
        try
        {
            Colour = inner.Colour;
        }
        catch
        {
            inner.Dispose();
            throw;
        }

        _thread = new Thread(ReadAll) { IsBackground = true, Name = "frame reader" };
        _thread.Start();
    }

    /// <inheritdoc/>
    public string Name => _inner.Name;

    /// <inheritdoc/>
    public ColourDescription Colour { get; }

    /// <inheritdoc/>
    public int LostFrames => _inner.LostFrames;

    /// <inheritdoc/>
    public IReadOnlyList<Finding> Findings => _filled.IsCompleted ? _inner.Findings : [];

    /// <inheritdoc/>
    public bool TryRead(RawFrame frame)
    {
        if (_filled.TryTake(out RawFrame? read, Timeout.Infinite))
        {
            frame.Swap(read);
            _free.Add(read);
            return true;
        }

        _error?.Throw();
        return false;
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _stop.Cancel();
        _thread.Join();
        _inner.Dispose();
        _free.Dispose();
        _filled.Dispose();
        _stop.Dispose();
    }

    private void ReadAll()
    {
#pragma warning disable CA1031 // Whatever the reader throws is thrown again on the thread of the user.
        try
        {
            while (true)
            {
                RawFrame frame = _free.Take(_stop.Token);
                if (!_inner.TryRead(frame))
                    break;
                _filled.Add(frame);
            }
        }
        catch (OperationCanceledException)
        {
            // Disposed before the end.
        }
        catch (Exception e)
        {
            _error = ExceptionDispatchInfo.Capture(e);
        }
        finally
        {
            _filled.CompleteAdding();
        }
#pragma warning restore CA1031
    }
}
