namespace StreakTrack.Synthesis.Output;

/// <summary>Takes the frames of one clip in order and makes a file of them.</summary>
internal interface IFrameSink : IDisposable
{
    /// <summary>Name of the encoder, for the truth file.</summary>
    string Name { get; }

    /// <summary>Adds a frame: blue, green, red bytes row by row.</summary>
    void Write(byte[] bgr, double timeSeconds);

    /// <summary>Ends the file; it is complete when this returns.</summary>
    void Finish();
}
