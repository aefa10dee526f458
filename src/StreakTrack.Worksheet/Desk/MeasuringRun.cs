using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Streaks;
using StreakTrack.Worksheet.Serving;

namespace StreakTrack.Worksheet.Desk;

/// <summary>A measurement under way: how far it is, and what it has seen so far, for the figure that grows.</summary>
internal sealed class MeasuringRun : IProgress<AnalysisProgress>, IProgress<RoughReading>, IDisposable
{
    /// <summary>Pages are told this often, in ms: a figure that grows ten times a second flows.</summary>
    private const int TellMilliseconds = 100;

    private readonly EventHub _hub;
    private readonly double _mmPerPx;
    private readonly Lock _lock = new();
    private readonly List<double[]> _untold = [];
    private readonly CancellationTokenSource _cancelling;
    private long _lastTold;

    /// <summary>Begins.</summary>
    /// <param name="hub">Who is told.</param>
    /// <param name="mmPerPx">Scale for the figure, in mm per px.</param>
    /// <param name="closing">Ends the run with the notebook.</param>
    public MeasuringRun(EventHub hub, double mmPerPx, CancellationToken closing)
    {
        (_hub, _mmPerPx) = (hub, mmPerPx);
        _cancelling = CancellationTokenSource.CreateLinkedTokenSource(closing);
    }

    /// <summary>Stops the run.</summary>
    public CancellationToken Token => _cancelling.Token;

    /// <summary>How far it is.</summary>
    public AnalysisProgress Progress { get; private set; } = new("looking for the streak", 0, null);

    /// <inheritdoc/>
    public void Report(AnalysisProgress value)
    {
        Progress = value;
        Tell(always: false);
    }

    /// <inheritdoc/>
    public void Report(RoughReading value)
    {
        lock (_lock)
            _untold.Add([value.Frame, value.TimeSeconds, value.HalfLengthPx * _mmPerPx]);
    }

    /// <summary>Asks it to stop.</summary>
    public void Cancel() => _cancelling.Cancel();

    /// <summary>Tells the pages what they were not told yet.</summary>
    public void Tell(bool always)
    {
        double[][] points;
        lock (_lock)
        {
            if (!always && Environment.TickCount64 - _lastTold < TellMilliseconds)
                return;
            _lastTold = Environment.TickCount64;
            points = [.. _untold];
            _untold.Clear();
        }

        _hub.Tell("measuring", new { Stage = Progress.Stage, Progress.Done, Progress.Total, Points = points });
    }

    /// <inheritdoc/>
    public void Dispose() => _cancelling.Dispose();
}
