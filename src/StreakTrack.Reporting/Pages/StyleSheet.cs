namespace StreakTrack.Reporting.Pages;

/// <summary>The report's style sheet, carried in the assembly.</summary>
internal static class StyleSheet
{
    /// <summary>The text, ready to stand in a style element: free of the signs that HTML and XML would read differently there.</summary>
    public static string Text { get; } = Load();

    private static string Load()
    {
        using Stream stream = typeof(StyleSheet).Assembly.GetManifestResourceStream("report.css")
            ?? throw new InvalidOperationException("The assembly lacks its style sheet.");
        using StreamReader reader = new(stream);
        return "\n" + reader.ReadToEnd().Replace("\r\n", "\n", StringComparison.Ordinal);
    }
}
