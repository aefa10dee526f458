using System.Diagnostics;
using StreakTrack.Imaging.Analysis;

namespace StreakTrack.Cli.Terminal;

/// <summary>One line on a terminal that is redrawn while long work goes on; silent where nobody watches.</summary>
internal sealed class ProgressLine(CommandStreams streams) : IProgress<AnalysisProgress>, IDisposable
{
    private static readonly TimeSpan RedrawInterval = TimeSpan.FromMilliseconds(100);

    private readonly Lock _lock = new();
    private long _lastDrawn;
    private int _drawnLength;

    public void Report(AnalysisProgress value)
    {
        if (!streams.ErrorIsTerminal)
            return;

        lock (_lock)
        {
            if (_drawnLength > 0 && Stopwatch.GetElapsedTime(_lastDrawn) < RedrawInterval)
                return;

            string text = value.Total is int total
                ? $"{value.Stage} {value.Done} of {total}"
                : value.Done > 0 ? $"{value.Stage} {value.Done}" : value.Stage;
            streams.Error.Write('\r' + text.PadRight(_drawnLength));
            _drawnLength = text.Length;
            _lastDrawn = Stopwatch.GetTimestamp();
        }
    }

    public void Dispose()
    {
        lock (_lock)
        {
            if (_drawnLength > 0)
                streams.Error.Write('\r' + new string(' ', _drawnLength) + '\r');
            _drawnLength = 0;
        }
    }
}
