using Microsoft.Playwright;

namespace StreakTrack.Worksheet.Browser;

/// <summary>One Chromium for all tests: the system's own.</summary>
public sealed class Browser : IAsyncLifetime
{
    /// <summary>Name of the collection whose tests share it, one after the other.</summary>
    public const string Collection = "browser";

    private IPlaywright? _playwright;
    private IBrowser? _browser;

    public async Task InitializeAsync()
    {
        _playwright = await Playwright.CreateAsync();
        _browser = await _playwright.Chromium.LaunchAsync(new BrowserTypeLaunchOptions
        {
            ExecutablePath = PathOfChromium(),

            // Chromium's sandbox does not work for root, and only our own page is opened.
            Args = ["--no-sandbox"],
        });
    }

    /// <summary>A fresh profile: no cookies, nothing kept.</summary>
    public Task<IBrowserContext> NewContextAsync(bool dark = false, int widthPx = 1280, int heightPx = 900) =>
        _browser!.NewContextAsync(new BrowserNewContextOptions
        {
            ViewportSize = new ViewportSize { Width = widthPx, Height = heightPx },
            ColorScheme = dark ? ColorScheme.Dark : ColorScheme.Light,
            ReducedMotion = ReducedMotion.Reduce,
        });

    public async Task DisposeAsync()
    {
        if (_browser is not null)
            await _browser.CloseAsync();
        _playwright?.Dispose();
    }

    private static string PathOfChromium()
    {
        string[] folders = (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator);
        return new[] { "chromium", "chromium-browser", "google-chrome" }.SelectMany(name => folders.Select(f => Path.Combine(f, name))).FirstOrDefault(File.Exists)
            ?? throw new FileNotFoundException("There is no Chromium on this machine; ./setup.sh --dev installs it.");
    }
}

[CollectionDefinition(Browser.Collection)]
public sealed class BrowserCollection : ICollectionFixture<Browser>;
