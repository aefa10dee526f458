using System.Globalization;
using System.Text.Json;
using Microsoft.Playwright;

namespace StreakTrack.Worksheet.Browser;

/// <summary>A worksheet that is served, and a tab in which it is open.</summary>
internal sealed class ServedWorksheet : IAsyncDisposable
{
    private readonly DirectoryInfo _folder;
    private readonly bool _ownsFolder;
    private readonly List<string> _complaints = [];

    private ServedWorksheet(WorksheetServer server, DirectoryInfo folder, bool ownsFolder, IBrowserContext context, IPage page)
    {
        (Server, _folder, _ownsFolder, Context, Page) = (server, folder, ownsFolder, context, page);
        Listen(page);
    }

    public WorksheetServer Server { get; }

    public IBrowserContext Context { get; }

    public IPage Page { get; }

    /// <summary>Folder of all work.</summary>
    public string Folder => _folder.FullName;

    /// <summary>What the browser's console complained of; refused answers of the server that a test provokes are among it.</summary>
    public IReadOnlyList<string> Complaints => _complaints;

    /// <summary>Serves a worksheet and opens it.</summary>
    /// <param name="browser">The browser.</param>
    /// <param name="clip">The clip to begin with; null to begin without.</param>
    /// <param name="maxUploadBytes">Largest clip that may be uploaded; null for the default.</param>
    /// <param name="folder">Work folder of an earlier worksheet; null for one that goes with this one.</param>
    /// <param name="dark">Whether the system asks for dark pages.</param>
    public static async Task<ServedWorksheet> OpenAsync(
        Browser browser, string? clip, long? maxUploadBytes = null, string? folder = null, bool dark = false)
    {
        DirectoryInfo work = folder is null ? Directory.CreateTempSubdirectory("streaktrack-worksheet-") : new DirectoryInfo(folder);
        var options = new WorksheetOptions { WorkFolder = work.FullName, ClipPath = clip };
        if (maxUploadBytes is long limit)
            options = options with { MaxUploadBytes = limit };
        WorksheetServer server = await WorksheetServer.StartAsync(options, TextWriter.Null);
        IBrowserContext context = await browser.NewContextAsync(dark);
        context.SetDefaultTimeout(90_000);
        IPage page = await context.NewPageAsync();
        var served = new ServedWorksheet(server, work, folder is null, context, page);
        await page.GotoAsync(server.Address);
        return served;
    }

    /// <summary>Opens a second tab.</summary>
    public async Task<IPage> SecondTabAsync()
    {
        IPage page = await Context.NewPageAsync();
        Listen(page);
        await page.GotoAsync($"http://{Server.Host}/");
        return page;
    }

    /// <summary>Waits until the ruler's picture is there.</summary>
    public static Task SeesRulerAsync(IPage page) => page.WaitForFunctionAsync(
        "() => document.querySelector('#ruler-picture .waiting').hidden && document.querySelector('#ruler-picture canvas').width > 300");

    /// <summary>Waits until a sheet is done; where it does not become so, says what the page says.</summary>
    public static async Task IsDoneAsync(IPage page, string sheet)
    {
        try
        {
            await page.WaitForFunctionAsync("sheet => document.getElementById(sheet + '-mark').textContent === 'done'", sheet);
        }
        catch (TimeoutException)
        {
            string said = await page.EvaluateAsync<string>(
                "() => ['notices', 'clip-mark', 'ruler-mark', 'measure-words', 'fit-words', 'report-words', 'report'].map(id => id + ': ' + document.getElementById(id).textContent).join('\\n')");
            Assert.Fail($"{sheet} is not done. The page says\n{said}\nthe server says\n{await page.EvaluateAsync<string>("() => fetch('api/state').then(r => r.text())")}");
        }
    }

    /// <summary>Clicks on a place of a picture.</summary>
    /// <param name="page">The tab.</param>
    /// <param name="picture">Id of the picture.</param>
    /// <param name="u">Place to the right, in px of the clip.</param>
    /// <param name="v">Place downward, in px of the clip.</param>
    public static async Task ClickPictureAsync(IPage page, string picture, double u, double v)
    {
        (float x, float y) = await PointOfAsync(page, picture, u, v);
        await page.Mouse.ClickAsync(x, y);
    }

    /// <summary>Where a place of a picture is on the page, once it is scrolled into view.</summary>
    public static async Task<(float X, float Y)> PointOfAsync(IPage page, string picture, double u, double v)
    {
        double[] place = await page.EvaluateAsync<double[]>(
            """
            ([id, u, v]) => {
              const host = document.getElementById(id);
              host.scrollIntoView({ block: 'center', behavior: 'instant' });
              const box = host.getBoundingClientRect(), [, , width, height] = host.querySelector('svg').getAttribute('viewBox').split(' ').map(Number);
              return [box.left + (u + 0.5) / width * box.width, box.top + (v + 0.5) / height * box.height];
            }
            """, new object[] { picture, u, v });
        return ((float)place[0], (float)place[1]);
    }

    /// <summary>Places a mark with the mouse and types its reading.</summary>
    public static async Task MarkAsync(IPage page, double u, double v, double readingMm)
    {
        int before = await page.Locator(".marker").CountAsync();
        await ClickPictureAsync(page, "ruler-picture", u, v);
        await Assertions.Expect(page.Locator(".marker")).ToHaveCountAsync(before + 1);
        await page.Keyboard.TypeAsync(readingMm.ToString(CultureInfo.InvariantCulture));
        await page.Keyboard.PressAsync("Enter");
    }

    /// <summary>Waits until the notebook holds a number of marks.</summary>
    public static Task HoldsMarksAsync(IPage page, int count) => UntilAsync(page, state => state.GetProperty("marks").GetArrayLength() == count);

    /// <summary>Waits until the server's state is as wanted.</summary>
    public static async Task UntilAsync(IPage page, Func<JsonElement, bool> isWanted)
    {
        long until = Environment.TickCount64 + 30_000;
        while (!isWanted(await StateAsync(page)))
        {
            Assert.True(Environment.TickCount64 < until, "the notebook did not become what it should");
            await Task.Delay(30);
        }
    }

    /// <summary>The state as the server tells it.</summary>
    public static async Task<JsonElement> StateAsync(IPage page) =>
        JsonDocument.Parse(await page.EvaluateAsync<string>("() => fetch('api/state').then(r => r.text())")).RootElement.Clone();

    /// <summary>The record as the page hands it out.</summary>
    public static Task<string> RecordAsync(IPage page) => page.EvaluateAsync<string>("() => fetch('files/record.json').then(r => r.text())");

    public async ValueTask DisposeAsync()
    {
        await Context.CloseAsync();
        await Server.DisposeAsync();
        if (_ownsFolder)
            _folder.Delete(recursive: true);
    }

    private void Listen(IPage page)
    {
        page.PageError += (_, error) => _complaints.Add(error);
        page.Console += (_, message) =>
        {
            if (message.Type is "error" or "warning")
                _complaints.Add(message.Text);
        };
    }
}
