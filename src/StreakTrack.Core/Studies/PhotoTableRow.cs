namespace StreakTrack.Core.Studies;

/// <summary>A row of a table of photographs.</summary>
/// <param name="Photo">File name of the photograph, without its folder.</param>
/// <param name="FrequencyHz">Frequency of the drive, in Hz, positive.</param>
/// <param name="Line">Line of the table that the row begins on, from 1.</param>
public sealed record PhotoTableRow(string Photo, double FrequencyHz, int Line);
