using System.Collections.Concurrent;
using System.Threading.Channels;

namespace StreakTrack.Worksheet.Serving;

/// <summary>Tells all open pages what happens, as server-sent events.</summary>
internal sealed class EventHub
{
    /// <summary>A page that has not read this many events has gone to sleep; it will ask for everything when it wakes up.</summary>
    private const int Unread = 256;

    private readonly ConcurrentDictionary<Channel<PageEvent>, bool> _pages = new();

    /// <summary>Tells all pages.</summary>
    /// <param name="name">Kind of event.</param>
    /// <param name="data">What there is to say; becomes JSON.</param>
    public void Tell(string name, object data)
    {
        if (_pages.IsEmpty)
            return;
        var told = new PageEvent(name, JsonText.Write(data));
        foreach (Channel<PageEvent> page in _pages.Keys)
            page.Writer.TryWrite(told);
    }

    /// <summary>The events from now on, until the page goes.</summary>
    public async IAsyncEnumerable<PageEvent> ListenAsync([System.Runtime.CompilerServices.EnumeratorCancellation] CancellationToken cancellationToken)
    {
        Channel<PageEvent> page = Channel.CreateBounded<PageEvent>(new BoundedChannelOptions(Unread) { FullMode = BoundedChannelFullMode.DropOldest });
        _pages[page] = true;
        try
        {
            await foreach (PageEvent told in page.Reader.ReadAllAsync(cancellationToken))
                yield return told;
        }
        finally
        {
            _pages.TryRemove(page, out _);
        }
    }
}

/// <summary>One event.</summary>
/// <param name="Name">Its kind.</param>
/// <param name="Json">Its data, on one line.</param>
internal sealed record PageEvent(string Name, string Json);
