using System.Diagnostics.Tracing;

namespace StreakTrack.Robustness.Fuzzing;

/// <summary>Counts what this process does with sockets and names of hosts.</summary>
internal sealed class NetworkWatch : EventListener
{
    private int _events;

    public int Events => _events;

    protected override void OnEventSourceCreated(EventSource eventSource)
    {
        if (eventSource.Name is "System.Net.Sockets" or "System.Net.NameResolution" or "System.Net.Http")
            EnableEvents(eventSource, EventLevel.Informational);
    }

    protected override void OnEventWritten(EventWrittenEventArgs eventData)
    {
        if (eventData.EventName != "EventCounters")
            Interlocked.Increment(ref _events);
    }
}
