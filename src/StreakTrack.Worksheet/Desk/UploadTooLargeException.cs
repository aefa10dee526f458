using System.Globalization;

namespace StreakTrack.Worksheet.Desk;

/// <summary>A clip that was dropped on the page is larger than the worksheet takes.</summary>
internal sealed class UploadTooLargeException(string name, long maxBytes) : Exception(string.Create(CultureInfo.InvariantCulture,
    $"{name}: it is larger than the {maxBytes / 1e6:0.#} MB that can be dropped here. Start the worksheet with the clip instead: streaktrack open CLIP."));
