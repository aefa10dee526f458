namespace StreakTrack.Synthesis.Rendering;

/// <summary>What random numbers are drawn for; each purpose has numbers of its own, so that changing one leaves the others as they
/// were.</summary>
internal enum RandomStream
{
    FrameTimes,
    DroppedFrames,
    RepeatedFrames,
    Tremble,
    Marks,
    RulerTexture,
    BackgroundTexture,
    Speckle,
    NoiseTable,
    NoiseOffsets,
    Practice,
}
