using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Photos;

/// <summary>A series of photographs as the frames of one measurement: upright, of one size, one second apart for want of a time.</summary>
internal sealed class PhotoFrames : FrameSource
{
    /// <summary>Memory for the frames of a sample, in bytes: their planes, and their brightness for the ruler.</summary>
    private const long SampleBytes = 300L << 20;
    private const int BytesAPixel = 10;

    private const int LeastSample = 2;

    private readonly IReadOnlyList<SeriesPhoto> _photos;
    private readonly IReadOnlyCollection<int> _wanted;
    private readonly bool _greyIsRed;

    /// <summary>Makes a source.</summary>
    /// <param name="photos">The photographs, all of one size as shown, at least one.</param>
    /// <param name="greyIsRed">Whether they are without colours.</param>
    /// <param name="wanted">Photographs that a sample must hold.</param>
    public PhotoFrames(IReadOnlyList<SeriesPhoto> photos, bool greyIsRed, IReadOnlyCollection<int> wanted)
    {
        (_photos, _greyIsRed, _wanted) = (photos, greyIsRed, wanted);
        PhotoFacts first = photos[0].Facts;
        Facts = new ClipFacts
        {
            Path = first.Path,
            Bytes = first.Bytes,
            Container = "photographs",
            Codec = first.Format,
            PixelFormat = "yuv444p16le",
            BitDepth = 16,
            Orientation = DisplayOrientation.Upright(first.Orientation.DisplayWidth, first.Orientation.DisplayHeight),
            Colour = PhotoPixels.Colour,
            AnnouncedFrames = photos.Count,
        };
    }

    public override ClipFacts Facts { get; }

    public override FrameSample Sample(int count, PixelRegion region, CancellationToken cancellationToken)
    {
        region = RegionAlignment.WholeColourSamples(region, Facts.Orientation);
        long affordable = SampleBytes / ((long)BytesAPixel * region.Width * region.Height);
        count = (int)Math.Min(Math.Min(Math.Max(LeastSample, affordable), count), _photos.Count);
        SortedSet<int> chosen = [0, .. _wanted.Take(count - 1)];
        for (int k = 1; chosen.Count < count && k < _photos.Count; k++)
        {
            // Evenly spread first; what the wanted ones displaced is made up from the beginning.
            chosen.Add(k < count ? k * (_photos.Count - 1) / (count - 1) : k);
        }

        var frames = new List<RawFrame>(count);
        foreach (int at in chosen)
        {
            cancellationToken.ThrowIfCancellationRequested();
            var frame = new RawFrame();
            _photos[at].Read(frame, frames.Count, region, _greyIsRed);
            frames.Add(frame);
        }

        return new FrameSample(frames, PhotoPixels.Colour);
    }

    public override IFrameReader Open(PixelRegion region) =>
        new PhotoReader(_photos, RegionAlignment.WholeColourSamples(region, Facts.Orientation), _greyIsRed);
}
