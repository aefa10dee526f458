using SixLabors.ImageSharp;
using StreakTrack.Core.Findings;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Photos;

/// <summary>Reads the photographs of a series one after the other.</summary>
internal sealed class PhotoReader(IReadOnlyList<SeriesPhoto> photos, PixelRegion region, bool greyIsRed) : IFrameReader
{
    private int _next;

    /// <summary>The library that decodes, with its version.</summary>
    public static string LibraryName { get; } = $"ImageSharp {typeof(Image).Assembly.GetName().Version!.ToString(3)}";

    public string Name => LibraryName;

    public ColourDescription Colour => PhotoPixels.Colour;

    public int LostFrames => 0;

    public IReadOnlyList<Finding> Findings => [];

    public bool TryRead(RawFrame frame)
    {
        if (_next == photos.Count)
            return false;
        photos[_next].Read(frame, _next, region, greyIsRed);
        _next++;
        return true;
    }

    public void Dispose()
    {
    }
}
