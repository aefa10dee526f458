namespace StreakTrack.Synthesis.Output;

/// <summary>How a simulated clip is encoded, and where its truth goes.</summary>
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

    /// <summary>Folder of the truth file, kept apart from what students get; null for that of the clip.</summary>
    public string? TruthFolder { get; init; }

    /// <summary>
    /// Random text that is put into the truth file, so that the file's hash can be handed out beforehand without giving anything away;
    /// null for none.
    /// </summary>
    public string? TruthSalt { get; init; }

    /// <summary>Threads that render frames, 1 to 64. Default the number of processors. The pictures do not depend on it.</summary>
    public int Threads
    {
        get;
        init => field = value is >= 1 and <= 64
            ? value
            : throw new ArgumentOutOfRangeException(nameof(Threads), value, "Between 1 and 64 threads can render.");
    } = Math.Clamp(Environment.ProcessorCount, 1, 64);
}
