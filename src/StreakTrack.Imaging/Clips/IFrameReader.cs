using StreakTrack.Core.Findings;

namespace StreakTrack.Imaging.Clips;

/// <summary>Reads the frames of one clip once, from the first to the last, in presentation order.</summary>
/// <remarks>A reader belongs to one thread at a time.</remarks>
public interface IFrameReader : IDisposable
{
    /// <summary>Name of the reader for the record: "embedded" or "ffmpeg", with its version.</summary>
    string Name { get; }

    /// <summary>How the samples that <see cref="TryRead"/> delivers are coded.</summary>
    ColourDescription Colour { get; }

    /// <summary>Frames that the container announced but the decoder could not deliver, so far.</summary>
    int LostFrames { get; }

    /// <summary>Remarks on what was read, beyond the loss of frames; complete after the last frame.</summary>
    IReadOnlyList<Finding> Findings { get; }

    /// <summary>Reads the next frame into <paramref name="frame"/>, whose buffers are reused.</summary>
    /// <returns>False after the last frame.</returns>
    /// <exception cref="Core.UnusableInputException">The clip cannot be decoded.</exception>
    bool TryRead(RawFrame frame);
}
