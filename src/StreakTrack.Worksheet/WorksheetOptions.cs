namespace StreakTrack.Worksheet;

/// <summary>How a worksheet is served.</summary>
public sealed record WorksheetOptions
{
    /// <summary>Folder for the work: one folder inside for each clip, with its record and its results. Made where it is not there.</summary>
    public required string WorkFolder { get; init; }

    /// <summary>The clip to begin with; null to choose one on the page.</summary>
    public string? ClipPath { get; init; }

    /// <summary>Which reader decodes clips: auto, ffmpeg or embedded. Default auto.</summary>
    public string Reader { get; init; } = "auto";

    /// <summary>Decodes a clip in a process of its own, given its path, and says what is wrong with it; null when nothing is. Asked before an
    /// uploaded clip is decoded inside this process, which a hostile file may crash. Default null: none is asked.</summary>
    public Func<string, CancellationToken, Task<string?>>? Trial { get; init; }

    /// <summary>Largest clip that the page may upload, in bytes. Default 8 GiB: ten minutes of a phone's 4K.</summary>
    public long MaxUploadBytes { get; init; } = 8L << 30;
}
