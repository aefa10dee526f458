namespace StreakTrack.Imaging.Clips;

/// <summary>Fits wanted regions to what readers can deliver.</summary>
internal static class RegionAlignment
{
    /// <summary>The region cut to the picture and rounded outward to whole colour samples; all of the picture for null.</summary>
    public static PixelRegion WholeColourSamples(PixelRegion? wanted, DisplayOrientation picture)
    {
        PixelRegion region = wanted ?? new PixelRegion(0, 0, picture.CodedWidth, picture.CodedHeight);
        int left = Math.Clamp(region.X, 0, picture.CodedWidth - 1) & ~1;
        int top = Math.Clamp(region.Y, 0, picture.CodedHeight - 1) & ~1;
        int right = Math.Clamp((region.X + region.Width + 1) & ~1, left + 1, picture.CodedWidth);
        int bottom = Math.Clamp((region.Y + region.Height + 1) & ~1, top + 1, picture.CodedHeight);
        return new PixelRegion(left, top, right - left, bottom - top);
    }

    /// <summary>A region cut to a frame's and begun at an even column of it, as <see cref="LinearLight"/> wants its parts.</summary>
    public static PixelRegion Within(PixelRegion frame, PixelRegion wanted)
    {
        int left = Math.Clamp(wanted.X - frame.X, 0, frame.Width - 1) & ~1, top = Math.Clamp(wanted.Y - frame.Y, 0, frame.Height - 1);
        int right = Math.Clamp(wanted.X + wanted.Width - frame.X, left + 1, frame.Width);
        int bottom = Math.Clamp(wanted.Y + wanted.Height - frame.Y, top + 1, frame.Height);
        return new PixelRegion(frame.X + left, frame.Y + top, right - left, bottom - top);
    }
}
