using System.Net;
using System.Net.Http.Json;
using System.Net.Sockets;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;

// Each worksheet keeps the machine busy, and some tests look at times.
[assembly: CollectionBehavior(DisableTestParallelization = true)]

namespace StreakTrack.Worksheet.Tests;

/// <summary>A worksheet that serves, and a browser that was given its address.</summary>
internal sealed class OpenWorksheet : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    private readonly WorksheetServer _server;
    private readonly HttpClient _browser;
    private TemporaryFolder? _own;

    private OpenWorksheet(WorksheetServer server, string work, StringWriter talk)
    {
        (_server, Work, Talk, Address) = (server, work, talk, server.Address);
        _browser = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false, UseCookies = false }) { BaseAddress = new Uri("http://" + server.Host) };
    }

    /// <summary>Host and port.</summary>
    public string Host => _server.Host;

    /// <summary>The address with the key, as it was printed at the start.</summary>
    public string Address { get; }

    /// <summary>The folder of the work.</summary>
    public string Work { get; }

    /// <summary>What was told to the people at the terminal.</summary>
    public StringWriter Talk { get; }

    /// <summary>The cookie of the browser that has opened the address.</summary>
    public string Cookie { get; private set; } = "";

    /// <summary>Starts to serve in a work folder of its own, which goes with the object.</summary>
    public static async Task<OpenWorksheet> OnAsync(string? clipPath)
    {
        var own = new TemporaryFolder();
        OpenWorksheet sheet = await StartAsync(new WorksheetOptions { WorkFolder = own.FullPath, ClipPath = clipPath });
        sheet._own = own;
        return sheet;
    }

    /// <summary>Starts to serve, and opens the address.</summary>
    public static async Task<OpenWorksheet> StartAsync(WorksheetOptions options)
    {
        var talk = new StringWriter();
        var sheet = new OpenWorksheet(await WorksheetServer.StartAsync(options, talk), options.WorkFolder, talk);
        using HttpResponseMessage answer = await sheet._browser.GetAsync(sheet.Address);
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        sheet.Cookie = answer.Headers.GetValues("Set-Cookie").Single().Split(';')[0];
        return sheet;
    }

    /// <summary>Sends a request as the page does, with changes for the test.</summary>
    public async Task<HttpResponseMessage> SendAsync(
        string method, string path, HttpContent? content = null, Action<HttpRequestMessage>? change = null)
    {
        using var request = new HttpRequestMessage(new HttpMethod(method), path) { Content = content };
        request.Headers.Add("Cookie", Cookie);
        request.Headers.Add("Origin", "http://" + Host);
        change?.Invoke(request);
        return await _browser.SendAsync(request);
    }

    /// <summary>Asks for JSON.</summary>
    public async Task<JsonObject> GetAsync(string path)
    {
        using HttpResponseMessage answer = await SendAsync("GET", path);
        Assert.True(answer.IsSuccessStatusCode, $"{path}: {answer.StatusCode} {await answer.Content.ReadAsStringAsync()}");
        return (await answer.Content.ReadFromJsonAsync<JsonObject>())!;
    }

    /// <summary>The notebook.</summary>
    public Task<JsonObject> StateAsync() => GetAsync("/api/state");

    /// <summary>Sends a change; gives status and answer.</summary>
    public async Task<(HttpStatusCode Status, JsonObject Answer)> PostAsync(string path, object? body = null)
    {
        using HttpResponseMessage answer = await SendAsync("POST", path, body is null ? null : JsonContent.Create(body, options: new JsonSerializerOptions()));
        return (answer.StatusCode, (await answer.Content.ReadFromJsonAsync<JsonObject>())!);
    }

    /// <summary>Sends a change to the present version, which must be taken; gives the notebook afterwards.</summary>
    public async Task<JsonObject> ChangeAsync(string path, JsonObject change)
    {
        change["version"] = (int)(await StateAsync())["version"]!;
        (HttpStatusCode status, JsonObject answer) = await PostAsync(path, change);
        Assert.True(status == HttpStatusCode.OK, $"{path}: {status} {answer}");
        return answer;
    }

    /// <summary>Waits until the notebook is as wanted.</summary>
    public async Task<JsonObject> WhenAsync(Func<JsonObject, bool> wanted)
    {
        DateTime end = DateTime.UtcNow + Patience;
        while (true)
        {
            JsonObject state = await StateAsync();
            if (wanted(state))
                return state;
            Assert.True(DateTime.UtcNow < end, "Waited in vain; the notebook was " + state);
            await Task.Delay(50);
        }
    }

    /// <summary>Sends bytes as they are, for requests that no browser would send, and gives the answer.</summary>
    public async Task<string> SendRawAsync(string request)
    {
        using var client = new TcpClient();
        await client.ConnectAsync(IPAddress.Loopback, int.Parse(Host.Split(':')[1], System.Globalization.CultureInfo.InvariantCulture));
        await using NetworkStream stream = client.GetStream();
        await stream.WriteAsync(Encoding.ASCII.GetBytes(request));
        using var reader = new StreamReader(stream);
        return await reader.ReadToEndAsync();
    }

    public async ValueTask DisposeAsync()
    {
        _browser.Dispose();
        await _server.DisposeAsync();
        _own?.Dispose();
    }
}
