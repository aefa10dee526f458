using System.Diagnostics;
using System.Text.Json;
using Microsoft.Playwright;
using StreakTrack.Core.Scale;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Worksheet.Browser;

/// <summary>The rules of axe-core (WCAG 2.2, levels A and AA, and its best practices) on the empty page and on the page with all sheets filled.</summary>
[Collection(Browser.Collection)]
public sealed class AccessibilityTests(Browser browser)
{
    [Fact]
    public async Task The_filled_page_breaks_no_rule_in_light_and_dark_and_at_1024_px()
    {
        var sinceOpened = Stopwatch.StartNew();
        await using ServedWorksheet served = await ServedWorksheet.OpenAsync(browser, Clips.Lit);
        IPage page = served.Page;
        await ServedWorksheet.SeesRulerAsync(page);
        RulerMark[] marks = Clips.FourMarksOf(Clips.Lit);
        foreach (RulerMark mark in marks)
            await ServedWorksheet.MarkAsync(page, mark.Point.UPx, mark.Point.VPx, mark.ReadingMm);
        await ServedWorksheet.IsDoneAsync(page, "ruler");
        await page.ClickAsync("#measure");
        await ServedWorksheet.IsDoneAsync(page, "fit");
        await page.ClickAsync("#report");
        await ServedWorksheet.IsDoneAsync(page, "results");
        await Kept.MeasuredAsync($"from opening the page to the report, 9 s at 1080p: {sinceOpened.Elapsed.TotalSeconds:0.0} s, {marks.Length + 2} clicks, {marks.Length} readings typed");
        await page.FillAsync("#frame-number", "100");
        await page.PressAsync("#frame-number", "Enter");
        await page.EvaluateAsync("() => document.activeElement.blur()");

        foreach (ColorScheme scheme in new[] { ColorScheme.Light, ColorScheme.Dark })
        {
            await page.EmulateMediaAsync(new PageEmulateMediaOptions { ColorScheme = scheme });
            await BreaksNoRuleAsync(page);
            await Kept.PicturesAsync(page, scheme == ColorScheme.Dark ? "dark" : "light");
        }

        await page.SetViewportSizeAsync(1024, 768);
        await BreaksNoRuleAsync(page);
        int widthPx = await page.EvaluateAsync<int>("() => document.documentElement.scrollWidth");
        Assert.True(widthPx <= 1024, $"the page is {widthPx} px wide in a window of 1024 px");
        Assert.Empty(served.Complaints);
    }

    [Fact]
    public async Task The_empty_page_breaks_no_rule()
    {
        await using ServedWorksheet served = await ServedWorksheet.OpenAsync(browser, clip: null);
        await Assertions.Expect(served.Page.Locator("#cover-clip")).ToHaveTextAsync("no clip yet");
        await BreaksNoRuleAsync(served.Page);
        Assert.Empty(served.Complaints);
    }

    private static async Task BreaksNoRuleAsync(IPage page)
    {
        if (!await page.EvaluateAsync<bool>("() => 'axe' in window"))
        {
            string folder = Path.Combine(Fixtures.RepositoryRoot, "tests", "StreakTrack.Worksheet.Browser", "node_modules", "axe-core");
            await page.EvaluateAsync(await File.ReadAllTextAsync(Path.Combine(folder, "axe.min.js")));
        }

        string json = await page.EvaluateAsync<string>("() => axe.run(document).then(r => JSON.stringify({ broken: r.violations, kept: r.passes.length }))");
        JsonElement result = JsonDocument.Parse(json).RootElement;
        Assert.True(result.GetProperty("kept").GetInt32() > 15, "hardly a rule was tried");
        IEnumerable<string> broken = result.GetProperty("broken").EnumerateArray().Select(rule =>
            rule.GetProperty("id").GetString() + ": " + string.Join("; ", rule.GetProperty("nodes").EnumerateArray().Take(3).Select(n =>
                n.GetProperty("html").GetString() + " " + n.GetProperty("failureSummary").GetString())));
        Assert.Empty(broken);
    }
}
