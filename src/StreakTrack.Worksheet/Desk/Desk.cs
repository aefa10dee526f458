using StreakTrack.Core;
using StreakTrack.Worksheet.Serving;

namespace StreakTrack.Worksheet.Desk;

/// <summary>Where one notebook lies open at a time.</summary>
internal sealed class Desk(WorksheetOptions options, EventHub hub) : IDisposable
{
    private readonly SemaphoreSlim _turn = new(1);
    private volatile Notebook? _open;

    /// <summary>How the worksheet is served.</summary>
    public WorksheetOptions Options => options;

    /// <summary>The open notebook; null before a clip was chosen.</summary>
    public Notebook? Open => _open;

    /// <summary>Opens the notebook of the clip that the worksheet was started with.</summary>
    /// <exception cref="UnusableInputException">It is no clip.</exception>
    public Task OpenAsync(string path, CancellationToken cancellationToken) =>
        OpenAsync(path, Path.GetFileName(path), knownSha256: null, cancellationToken);

    /// <summary>Takes a clip that was dropped on the page, and opens its notebook.</summary>
    /// <param name="body">The bytes.</param>
    /// <param name="name">What the user calls it.</param>
    /// <param name="cancellationToken">The page has gone.</param>
    /// <exception cref="UnusableInputException">It is no clip.</exception>
    /// <exception cref="UploadTooLargeException">It is too large.</exception>
    public async Task UploadAsync(Stream body, string name, CancellationToken cancellationToken)
    {
        (string path, string sha256) = await Upload.StoreAsync(body, name, options, cancellationToken);
        await OpenAsync(path, name, sha256, cancellationToken);
    }

    /// <inheritdoc/>
    public void Dispose() => _open?.Dispose();

    private async Task OpenAsync(string path, string name, string? knownSha256, CancellationToken cancellationToken)
    {
        await _turn.WaitAsync(cancellationToken);
        try
        {
            var opened = await Task.Run(() => Notebook.Open(path, name, knownSha256, options, hub, cancellationToken), cancellationToken);
            Notebook? before = _open;

            // A page that still shows the clip before must not change this one by a number that both have.
            if (before is not null)
                await opened.CountFromAsync(before.State.Version + 1);
            _open = opened;
            before?.Dispose();
            hub.Tell("clip", new { opened.Sha256 });
        }
        finally
        {
            _turn.Release();
        }
    }
}
