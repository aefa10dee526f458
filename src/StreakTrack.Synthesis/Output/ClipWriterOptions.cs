namespace StreakTrack.Synthesis.Output;

/// <summary>How a simulated clip is encoded.</summary>
public sealed record ClipWriterOptions
{
    /// <summary>The encoder. Default Auto.</summary>
    public ClipEncoder Encoder { get; init; } = ClipEncoder.Auto;

    /// <summary>Quality of the H.264 stream as constant rate factor, 0 (lossless) to 51. Default 20, about that of a phone.</summary>
    public int RateFactor
    {
        get;
        init => field = value is >= 0 and <= 51
            ? value
            : throw new ArgumentOutOfRangeException(nameof(RateFactor), value, "A constant rate factor lies between 0 and 51.");
    } = 20;

    /// <summary>Threads that render frames, 1 to 64. Default the number of processors. The pictures do not depend on it.</summary>
    public int Threads
    {
        get;
        init => field = value is >= 1 and <= 64
            ? value
            : throw new ArgumentOutOfRangeException(nameof(Threads), value, "Between 1 and 64 threads can render.");
    } = Math.Clamp(Environment.ProcessorCount, 1, 64);
}
