using System.Text.Json;
using Microsoft.Playwright;
using StreakTrack.Core.Scale;
using static Microsoft.Playwright.Assertions;

namespace StreakTrack.Worksheet.Browser;

/// <summary>A second tab, a lost connection, and work that is taken up again.</summary>
[Collection(Browser.Collection)]
public sealed class SharedWorkTests(Browser browser)
{
    private static readonly RulerMark[] Marks = Clips.FourMarksOf(Clips.Dark);

    [Fact]
    public async Task A_second_tab_shows_the_same_work_and_overwrites_none_of_it()
    {
        await using ServedWorksheet served = await ServedWorksheet.OpenAsync(browser, Clips.Dark);
        IPage first = served.Page, second = await served.SecondTabAsync();
        await ServedWorksheet.SeesRulerAsync(first);
        await ServedWorksheet.SeesRulerAsync(second);
        await first.BringToFrontAsync();
        await MarkAsync(first, 0);
        await MarkAsync(first, 1);
        await Expect(second.Locator(".marker")).ToHaveCountAsync(2);
        await Expect(second.Locator("#ruler-mark")).ToHaveTextAsync("done");

        // A tab that sleeps knows nothing of the change; when it wakes up and changes something, it is told, and shows what the other did.
        await second.RouteAsync("**/api/state", route => route.AbortAsync());
        await MarkAsync(first, 2);
        await ServedWorksheet.HoldsMarksAsync(first, 3);
        await second.BringToFrontAsync();
        await second.EvaluateAsync("() => document.querySelector(\"[aria-label='reading of mark 1 in mm']\").focus()");
        await second.Keyboard.PressAsync("Control+A");
        await second.Keyboard.TypeAsync("33");
        await second.UnrouteAllAsync();
        await second.Keyboard.PressAsync("Enter");
        await Expect(second.Locator("#notices")).ToContainTextAsync("Another tab was quicker");
        await Expect(second.Locator(".marker")).ToHaveCountAsync(3);
        JsonElement marks = (await ServedWorksheet.StateAsync(first)).GetProperty("marks");
        Assert.Equal(Marks.Take(3).Select(m => m.ReadingMm), marks.EnumerateArray().Select(m => m.GetProperty("reading_mm").GetDouble()));
    }

    [Fact]
    public async Task A_lost_connection_is_told_calmly_and_the_page_goes_on_when_it_is_back()
    {
        await using ServedWorksheet served = await ServedWorksheet.OpenAsync(browser, Clips.Dark);
        IPage page = served.Page;
        await ServedWorksheet.SeesRulerAsync(page);
        await MarkAsync(page, 0);
        await ServedWorksheet.HoldsMarksAsync(page, 1);
        await served.Context.SetOfflineAsync(true);
        (float x, float y) = await ServedWorksheet.PointOfAsync(page, "ruler-picture", Marks[1].Point.UPx, Marks[1].Point.VPx);
        await page.Mouse.ClickAsync(x, y);
        await page.Keyboard.TypeAsync(FormattableString.Invariant($"{Marks[1].ReadingMm}"));
        await page.Keyboard.PressAsync("Enter");
        await Expect(page.Locator("#lost")).ToContainTextAsync("What was done is saved");

        // What was typed meanwhile is still there, and goes through when StreakTrack answers.
        await Expect(page.Locator(".marker")).ToHaveCountAsync(2);
        await served.Context.SetOfflineAsync(false);
        await Expect(page.Locator("#lost")).ToHaveCountAsync(0);
        await ServedWorksheet.HoldsMarksAsync(page, 2);
        await Expect(page.Locator("#ruler-mark")).ToHaveTextAsync("done");
    }

    [Fact]
    public async Task Opened_again_the_work_is_where_it_was()
    {
        DirectoryInfo folder = Directory.CreateTempSubdirectory("streaktrack-worksheet-");
        try
        {
            string before, after;
            await using (ServedWorksheet served = await ServedWorksheet.OpenAsync(browser, Clips.Dark, folder: folder.FullName))
            {
                await ServedWorksheet.SeesRulerAsync(served.Page);
                for (int i = 0; i < Marks.Length; i++)
                    await MarkAsync(served.Page, i);
                await ServedWorksheet.IsDoneAsync(served.Page, "ruler");
                await served.Page.ClickAsync("#measure");
                await ServedWorksheet.IsDoneAsync(served.Page, "fit");
                before = await served.Page.Locator("#results-numbers .value").InnerTextAsync();
            }

            await using (ServedWorksheet served = await ServedWorksheet.OpenAsync(browser, Clips.Dark, folder: folder.FullName))
            {
                await Expect(served.Page.Locator(".marker")).ToHaveCountAsync(Marks.Length);
                await ServedWorksheet.IsDoneAsync(served.Page, "fit");
                after = await served.Page.Locator("#results-numbers .value").InnerTextAsync();
            }

            Assert.Equal(before, after);
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private static Task MarkAsync(IPage page, int i) => ServedWorksheet.MarkAsync(page, Marks[i].Point.UPx, Marks[i].Point.VPx, Marks[i].ReadingMm);
}
