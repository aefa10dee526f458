namespace StreakTrack.Imaging.Clips;

/// <summary>A few frames from all over a clip.</summary>
/// <param name="Frames">The frames in order of time, each with buffers of its own; numbered within this list.</param>
/// <param name="Colour">How their samples are coded: the reader's description.</param>
public sealed record FrameSample(IReadOnlyList<RawFrame> Frames, ColourDescription Colour);
