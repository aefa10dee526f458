using Microsoft.Playwright;
using static Microsoft.Playwright.Assertions;

namespace StreakTrack.Worksheet.Browser;

/// <summary>Files that are no clip, or too large.</summary>
[Collection(Browser.Collection)]
public sealed class UploadTests(Browser browser)
{
    [Fact]
    public async Task A_dropped_file_that_is_no_video_is_refused_in_words_and_the_open_clip_stays()
    {
        await using ServedWorksheet served = await ServedWorksheet.OpenAsync(browser, Clips.Dark);
        IPage page = served.Page;
        await ServedWorksheet.IsDoneAsync(page, "clip");
        await page.EvaluateAsync(
            """
            () => {
              const dropped = new DataTransfer();
              dropped.items.add(new File(['these are notes, not a clip'], 'notes.mp4', { type: 'video/mp4' }));
              document.body.dispatchEvent(new DragEvent('drop', { bubbles: true, cancelable: true, dataTransfer: dropped }));
            }
            """);
        await Expect(page.Locator("#upload-problem")).ToContainTextAsync("notes.mp4");
        await Expect(page.Locator("#upload")).ToBeHiddenAsync();
        await Expect(page.Locator("#cover-clip")).ToHaveTextAsync("clip.mp4");
        Assert.DoesNotContain(Directory.EnumerateFiles(served.Folder, "*", SearchOption.AllDirectories), f => f.Contains("upload", StringComparison.Ordinal));

        // The next one is welcome, and takes the complaint away.
        await page.SetInputFilesAsync("#choose", Clips.Lit);
        await Expect(page.Locator("#clip-facts")).ToContainTextAsync("1920 × 1080 px");
        await Expect(page.Locator("#upload-problem")).ToBeHiddenAsync();
    }

    [Fact]
    public async Task A_file_over_the_limit_is_refused_before_it_is_sent()
    {
        await using ServedWorksheet served = await ServedWorksheet.OpenAsync(browser, clip: null, maxUploadBytes: 100_000);
        IPage page = served.Page;
        await Expect(page.Locator("#cover-clip")).ToHaveTextAsync("no clip yet");
        bool isSent = false;
        page.Request += (_, request) => isSent |= request.Url.EndsWith("/api/clip", StringComparison.Ordinal);
        await page.SetInputFilesAsync("#choose", Clips.Dark);
        await Expect(page.Locator("#upload-problem")).ToContainTextAsync("streaktrack open CLIP");
        Assert.False(isSent);
        Assert.Empty(served.Complaints);
    }

    [Fact]
    public async Task A_file_that_the_page_lets_pass_is_refused_by_the_server_in_the_same_place()
    {
        await using ServedWorksheet served = await ServedWorksheet.OpenAsync(browser, clip: null, maxUploadBytes: 100_000);
        IPage page = served.Page;
        await page.RouteAsync("**/api/state", async route =>
        {
            IAPIResponse response = await route.FetchAsync();
            string text = await response.TextAsync();
            await route.FulfillAsync(new RouteFulfillOptions { Response = response, Body = text.Replace("100000", "100000000", StringComparison.Ordinal) });
        });
        await page.ReloadAsync();
        await Expect(page.Locator("#cover-clip")).ToHaveTextAsync("no clip yet");
        await page.SetInputFilesAsync("#choose", Clips.Dark);
        await Expect(page.Locator("#upload-problem")).ToBeVisibleAsync();
        await Expect(page.Locator("#cover-clip")).ToHaveTextAsync("no clip yet");
        Assert.Empty(Directory.EnumerateFiles(served.Folder, "*", SearchOption.AllDirectories));
    }
}
