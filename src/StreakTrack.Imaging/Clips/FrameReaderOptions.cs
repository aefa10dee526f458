namespace StreakTrack.Imaging.Clips;

/// <summary>What a reader is asked to deliver.</summary>
public sealed record FrameReaderOptions
{
    /// <summary>Which reader to use; by default the faster one that is present.</summary>
    public ReaderChoice Reader { get; init; } = ReaderChoice.Auto;

    /// <summary>The region of the coded picture wanted; null for all of it. A reader may widen it to whole colour samples, and says so in
    /// <see cref="RawFrame.Region"/>.</summary>
    public PixelRegion? Region { get; init; }

    /// <summary>Frames that may be read ahead of the one in use, on a thread of the reader's own; 0 to 16, by default 3. 0 reads only when
    /// asked. The frames are the same for any number.</summary>
    public int ReadAhead { get; init; } = 3;
}
