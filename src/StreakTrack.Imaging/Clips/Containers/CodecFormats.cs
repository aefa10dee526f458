namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>What a codec stores when its container says nothing more.</summary>
internal static class CodecFormats
{
    /// <summary>4:2:0 of 8 bits.</summary>
    public static StreamFormat Usual { get; } = new(0, 0, 1, 8, new ColourTags());

    /// <summary>JPEG pictures after JFIF: full range, BT.601, colour samples in the middle of their pixels.</summary>
    public static StreamFormat MotionJpeg { get; } = new(0, 0, 1, 8, new ColourTags(Matrix: 6, FullRange: true, ChromaLeftSited: false));
}
