namespace StreakTrack.Imaging.Clips;

/// <summary>Where the frames of a measurement come from: a clip, or photographs taken one by one.</summary>
internal abstract class FrameSource
{
    /// <summary>What all frames have in common.</summary>
    public abstract ClipFacts Facts { get; }

    /// <summary>Takes frames from all over the source, the first one first.</summary>
    /// <param name="count">Frames wanted, at least 1; fewer may come.</param>
    /// <param name="region">The region of the coded picture wanted; it may be widened to whole colour samples.</param>
    /// <param name="cancellationToken">Stops the reading.</param>
    public abstract FrameSample Sample(int count, PixelRegion region, CancellationToken cancellationToken);

    /// <summary>Opens a reader of all frames.</summary>
    /// <param name="region">The region of the coded picture wanted; it may be widened to whole colour samples.</param>
    public abstract IFrameReader Open(PixelRegion region);
}
