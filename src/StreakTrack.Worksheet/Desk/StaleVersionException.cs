namespace StreakTrack.Worksheet.Desk;

/// <summary>A change was made to a version of the notebook that is no longer the present one: another page was quicker.</summary>
internal sealed class StaleVersionException() : Exception("The notebook was changed in another tab.");
