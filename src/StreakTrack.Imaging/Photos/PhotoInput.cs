namespace StreakTrack.Imaging.Photos;

/// <summary>A photograph to be measured.</summary>
/// <param name="Path">The file.</param>
/// <param name="FrequencyHz">Frequency of the drive while it was taken, in Hz, positive; null where it is not known.</param>
public sealed record PhotoInput(string Path, double? FrequencyHz = null);
