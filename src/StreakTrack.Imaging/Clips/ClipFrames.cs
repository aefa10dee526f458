namespace StreakTrack.Imaging.Clips;

/// <summary>The frames of a clip.</summary>
/// <param name="facts">The clip.</param>
/// <param name="reader">Which reader decodes it.</param>
internal sealed class ClipFrames(ClipFacts facts, ReaderChoice reader) : FrameSource
{
    public override ClipFacts Facts { get; } = facts;

    public override FrameSample Sample(int count, PixelRegion region, CancellationToken cancellationToken) =>
        ClipFile.SampleFrames(Facts, count, region, reader, cancellationToken);

    public override IFrameReader Open(PixelRegion region) =>
        ClipFile.OpenReader(Facts, new FrameReaderOptions { Reader = reader, Region = region });
}
