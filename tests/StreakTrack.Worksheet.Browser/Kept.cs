using Microsoft.Playwright;

namespace StreakTrack.Worksheet.Browser;

/// <summary>Pictures and measured times that a run keeps where it is asked to.</summary>
internal static class Kept
{
    /// <summary>Names the folder; nothing is kept without it.</summary>
    private const string FolderVariable = "STREAKTRACK_SCREENSHOTS";

    private static readonly string[] Sheets = ["clip", "ruler", "streak", "fit", "results"];

    private static string? Folder => Environment.GetEnvironmentVariable(FolderVariable) is { Length: > 0 } folder ? folder : null;

    /// <summary>Keeps a picture of each sheet.</summary>
    public static async Task PicturesAsync(IPage page, string name)
    {
        if (Folder is not string folder)
            return;
        Directory.CreateDirectory(folder);

        // The line of contents and the margins stay in the window, and would lie over the sheets.
        await StickAsync(page, sticks: false);
        foreach (string sheet in Sheets)
            await page.Locator("#" + sheet).ScreenshotAsync(new LocatorScreenshotOptions { Path = Path.Combine(folder, $"{sheet}-{name}.png") });
        await StickAsync(page, sticks: true);
    }

    /// <summary>Keeps a line of what was measured.</summary>
    public static async Task MeasuredAsync(FormattableString line)
    {
        if (Folder is not string folder)
            return;
        Directory.CreateDirectory(folder);
        await File.AppendAllTextAsync(Path.Combine(folder, "measured.txt"), FormattableString.Invariant(line) + "\n");
    }

    private static async Task StickAsync(IPage page, bool sticks) => await page.EvaluateAsync(
        "position => document.querySelectorAll('.contents, .margin').forEach(e => { e.style.position = position; })", sticks ? "" : "static");
}
