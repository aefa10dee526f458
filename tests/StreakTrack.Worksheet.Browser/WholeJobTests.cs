using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;
using Microsoft.Playwright;
using StreakTrack.Core.Scale;
using static Microsoft.Playwright.Assertions;

namespace StreakTrack.Worksheet.Browser;

/// <summary>A student does the whole job; the numbers on the page are those of the command line.</summary>
[Collection(Browser.Collection)]
public sealed partial class WholeJobTests(Browser browser)
{
    [Fact]
    public async Task By_mouse_from_the_clip_to_the_report()
    {
        await using ServedWorksheet served = await ServedWorksheet.OpenAsync(browser, Clips.Lit);
        IPage page = served.Page;
        await ServedWorksheet.SeesRulerAsync(page);
        foreach (RulerMark mark in Clips.FourMarksOf(Clips.Lit))
            await ServedWorksheet.MarkAsync(page, mark.Point.UPx, mark.Point.VPx, mark.ReadingMm);
        await ServedWorksheet.IsDoneAsync(page, "ruler");
        await page.EvaluateAsync(
            """
            () => {
              const said = window.captions = new Set(), caption = document.getElementById('series-caption');
              new MutationObserver(() => said.add(caption.textContent)).observe(caption, { childList: true });
            }
            """);
        await page.ClickAsync("#measure");
        await ServedWorksheet.IsDoneAsync(page, "fit");
        Assert.True(await page.EvaluateAsync<int>("() => [...window.captions].filter(c => c.includes('so far')).length") > 1, "the figure did not grow");

        // A frame is left out with a reason, and the stretch is shortened by its handle.
        await page.FillAsync("#frame-number", "120");
        await page.PressAsync("#frame-number", "Enter");
        await page.FillAsync("#exclude-reason", "somebody walked by");
        await page.ClickAsync("#exclude");
        await Expect(page.Locator("#excluded")).ToContainTextAsync("frame 120 (somebody walked by)");
        await ServedWorksheet.IsDoneAsync(page, "fit");
        await page.Locator(".handle.end").ScrollIntoViewIfNeededAsync();
        LocatorBoundingBoxResult box = (await page.Locator(".handle.end").BoundingBoxAsync())!;
        await page.Mouse.MoveAsync(box.X + (box.Width / 2), box.Y + (box.Height / 2));
        await page.Mouse.DownAsync();
        await page.Mouse.MoveAsync(box.X - 120, box.Y + (box.Height / 2), new MouseMoveOptions { Steps = 5 });
        await page.Mouse.UpAsync();
        await ServedWorksheet.UntilAsync(page, state => state.GetProperty("options").GetProperty("window_end_s").ValueKind == JsonValueKind.Number);
        await ServedWorksheet.IsDoneAsync(page, "fit");
        await page.FillAsync("#frequency_hz", "38.9");
        await page.PressAsync("#frequency_hz", "Enter");
        await Expect(page.Locator("#results-numbers")).ToContainTextAsync("quality factor Q");
        await ServedWorksheet.IsDoneAsync(page, "fit");
        await page.ClickAsync("#report");
        await ServedWorksheet.IsDoneAsync(page, "results");

        JsonObject options = await IsRepeatedAsync(page, Clips.Lit);
        Assert.Equal([120], options["excluded_frames"]!.AsArray().Select(f => (int)f!));
        Assert.InRange((double)options["window_end_s"]!, 5, 8.9);

        // The report opens in a tab of its own, and says the same.
        IPage report = await served.Context.RunAndWaitForPageAsync(() => page.ClickAsync("#files a[href='files/report.html']"));
        await Expect(report.Locator(".result .value").First).ToContainTextAsync(await TauOnPageAsync(page));
        Assert.Empty(served.Complaints);
    }

    [Fact]
    public async Task By_keyboard_alone_from_choosing_a_clip_to_the_report()
    {
        await using ServedWorksheet served = await ServedWorksheet.OpenAsync(browser, clip: null);
        IPage page = served.Page;
        IFileChooser chooser = await page.RunAndWaitForFileChooserAsync(async () =>
        {
            await TabToAsync(page, "#choose");
            await page.Keyboard.PressAsync("Enter");
        });
        await chooser.SetFilesAsync(Clips.Dark);
        await ServedWorksheet.IsDoneAsync(page, "clip");
        await ServedWorksheet.SeesRulerAsync(page);

        RulerMark[] marks = Clips.FourMarksOf(Clips.Dark);
        for (int i = 0; i < marks.Length; i++)
        {
            // Placed roughly by its numbers, moved by the arrow keys, sent to its tick, and its reading typed.
            await TabToAsync(page, "#mark-add");
            await page.Keyboard.PressAsync("Enter");
            await Expect(page.Locator(".marker")).ToHaveCountAsync(i + 1);
            string name = $"mark {i + 1}";
            await TypeIntoAsync(page, $"[aria-label='u of {name} in px']", marks[i].Point.UPx - 2);
            await TypeIntoAsync(page, $"[aria-label='v of {name} in px']", marks[i].Point.VPx);
            await TabToAsync(page, $".marker[aria-label^='{name},']", backward: true);
            await page.Keyboard.PressAsync("ArrowRight");
            await page.Keyboard.PressAsync("ArrowRight");
            for (int step = 0; step < 3; step++)
                await page.Keyboard.PressAsync("Shift+ArrowLeft");
            await Expect(page.Locator($".marker[aria-label^='{name},']")).ToHaveAttributeAsync(
                "aria-label", new Regex(string.Create(CultureInfo.InvariantCulture, $"at u {marks[i].Point.UPx - 0.3:0.0}")));
            await page.Keyboard.PressAsync("Enter");
            await page.Keyboard.TypeAsync(marks[i].ReadingMm.ToString(CultureInfo.InvariantCulture));
            await page.Keyboard.PressAsync("Enter");
        }

        await ServedWorksheet.HoldsMarksAsync(page, marks.Length);
        await ServedWorksheet.IsDoneAsync(page, "ruler");
        await TabToAsync(page, "#measure");
        await page.Keyboard.PressAsync("Enter");
        await ServedWorksheet.IsDoneAsync(page, "fit");

        // Step to a frame, choose the model, move a handle, give the frequency.
        await TabToAsync(page, "#frame-on");
        await page.Keyboard.PressAsync("Enter");
        await Expect(page.Locator("#frame-facts")).ToContainTextAsync("1, of 0 to");
        await TabToAsync(page, "#model");
        await page.Keyboard.TypeAsync("exponential decay with");
        await Expect(page.Locator("#model")).ToHaveValueAsync("decay-floor");
        await ServedWorksheet.IsDoneAsync(page, "fit");
        await TabToAsync(page, ".handle.end");
        await page.Keyboard.PressAsync("ArrowLeft");
        await page.Keyboard.PressAsync("Shift+ArrowLeft");
        await ServedWorksheet.UntilAsync(page, state => state.GetProperty("options").GetProperty("window_end_s").ValueKind == JsonValueKind.Number);
        await TabToAsync(page, "#frequency_hz");
        await page.Keyboard.TypeAsync("38.9");
        await page.Keyboard.PressAsync("Enter");
        await Expect(page.Locator("#results-numbers")).ToContainTextAsync("quality factor Q");
        await ServedWorksheet.IsDoneAsync(page, "fit");
        await TabToAsync(page, "#report");
        await page.Keyboard.PressAsync("Enter");
        await ServedWorksheet.IsDoneAsync(page, "results");

        JsonObject options = await IsRepeatedAsync(page, Clips.Dark);
        Assert.Equal("decay-floor", (string)options["model"]!);
        Assert.Empty(served.Complaints);
    }

    // The record of the page, run by the command line, gives the same results to the last digit; the page shows them.
    private static async Task<JsonObject> IsRepeatedAsync(IPage page, string clip)
    {
        string record = await ServedWorksheet.RecordAsync(page);
        JsonObject ours = JsonNode.Parse(record)!.AsObject();
        JsonObject theirs = await CommandLineRun.RepeatAsync(clip, record);
        Assert.True(JsonNode.DeepEquals(ours["result"], theirs["result"]), "the results of the page and of the command line differ");
        JsonNode tau = theirs["result"]!["fit"]!["parameters"]!["tau_s"]!;
        Match shown = ValueWithUncertainty().Match(await TauOnPageAsync(page));
        Assert.True(shown.Success);
        foreach ((string group, string name) in new[] { ("value", "value"), ("u", "standard_uncertainty") })
        {
            string text = shown.Groups[group].Value;
            int digits = text.Length - text.IndexOf('.', StringComparison.Ordinal) - 1;
            Assert.Equal(((double)tau[name]!).ToString("F" + digits, CultureInfo.InvariantCulture), text);
        }

        return theirs["options"]!.AsObject();
    }

    private static async Task<string> TauOnPageAsync(IPage page) =>
        (await page.Locator("#results-numbers .value").InnerTextAsync()).Replace("τ = ", "", StringComparison.Ordinal);

    // Presses the tab key until an element has the focus: a keyboard user gets there, or the test fails.
    private static async Task TabToAsync(IPage page, string selector, bool backward = false)
    {
        for (int i = 0; i < 120; i++)
        {
            if (await page.EvaluateAsync<bool>("selector => document.activeElement?.matches(selector) === true", selector))
                return;
            await page.Keyboard.PressAsync(backward ? "Shift+Tab" : "Tab");
        }

        Assert.Fail($"{selector} cannot be reached by the tab key");
    }

    private static async Task TypeIntoAsync(IPage page, string selector, double value)
    {
        await TabToAsync(page, selector);
        await page.Keyboard.PressAsync("Control+A");
        await page.Keyboard.TypeAsync(value.ToString("0.0##", CultureInfo.InvariantCulture));
        await page.Keyboard.PressAsync("Enter");
    }

    [GeneratedRegex(@"\((?<value>[0-9.]+) ± (?<u>[0-9.]+)\) s")]
    private static partial Regex ValueWithUncertainty();
}
