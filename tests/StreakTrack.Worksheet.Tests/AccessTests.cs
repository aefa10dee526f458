using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Net.NetworkInformation;
using System.Net.Sockets;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Worksheet.Tests;

/// <summary>What somebody else can do: nothing.</summary>
public sealed class AccessTests(AccessTests.Served served) : IClassFixture<AccessTests.Served>
{
    private readonly OpenWorksheet _sheet = served.Sheet;

    // Everything that is served, with the method that it takes.
    public static TheoryData<string, string> Doors => new()
    {
        { "GET", "/" }, { "GET", "/api/state" }, { "GET", "/api/series" }, { "GET", "/api/events" }, { "POST", "/api/clip" }, { "GET", "/api/frame/0" },
        { "GET", "/api/profile/0" }, { "GET", "/api/still" }, { "GET", "/api/still/facts" }, { "POST", "/api/snap" }, { "POST", "/api/marks" },
        { "POST", "/api/options" }, { "POST", "/api/exclude" }, { "POST", "/api/measure" }, { "POST", "/api/measure/cancel" }, { "POST", "/api/report" },
        { "GET", "/files/record.json" }, { "GET", "/files/figures/decay.svg" }, { "GET", "/vendor/uplot/uPlot.esm.js" }, { "GET", "/no-such-thing" },
    };

    [Theory]
    [MemberData(nameof(Doors))]
    public async Task Without_the_cookie_no_door_opens(string method, string path)
    {
        using HttpResponseMessage answer = await _sheet.SendAsync(method, path, Empty(method), r => r.Headers.Remove("Cookie"));
        await AssertRefused(HttpStatusCode.Forbidden, answer);
    }

    [Theory]
    [MemberData(nameof(Doors))]
    public async Task With_a_false_cookie_no_door_opens(string method, string path)
    {
        string[] parts = _sheet.Cookie.Split('=');
        string false1 = (parts[1][0] == '0' ? '1' : '0') + parts[1][1..];
        foreach (string value in new[] { false1, "", parts[1][..^1], parts[1] + "0" })
        {
            using HttpResponseMessage answer = await _sheet.SendAsync(method, path, Empty(method), r => Set(r, "Cookie", parts[0] + "=" + value));
            await AssertRefused(HttpStatusCode.Forbidden, answer);
        }
    }

    [Theory]
    [MemberData(nameof(Doors))]
    public async Task A_page_of_another_origin_opens_no_door_even_with_the_cookie(string method, string path)
    {
        foreach (string origin in new[] { "https://example.org", "null", "http://localhost:" + _sheet.Host.Split(':')[1], "https://" + _sheet.Host })
        {
            using HttpResponseMessage answer = await _sheet.SendAsync(method, path, Empty(method), r => Set(r, "Origin", origin));
            await AssertRefused(HttpStatusCode.Forbidden, answer);
        }
    }

    [Fact]
    public async Task A_picture_or_script_that_another_page_includes_is_refused()
    {
        foreach (string site in new[] { "cross-site", "same-site" })
        {
            using HttpResponseMessage answer = await _sheet.SendAsync("GET", "/api/frame/0", null, r =>
            {
                r.Headers.Remove("Origin");
                Set(r, "Sec-Fetch-Site", site);
            });
            await AssertRefused(HttpStatusCode.Forbidden, answer);
        }
    }

    [Fact]
    public async Task A_change_that_does_not_say_where_it_comes_from_is_refused()
    {
        using HttpResponseMessage answer = await _sheet.SendAsync(
            "POST", "/api/marks", JsonContent.Create(new { version = 0, marks = Array.Empty<int>() }), r => r.Headers.Remove("Origin"));
        await AssertRefused(HttpStatusCode.Forbidden, answer);
        Assert.Equal(0, (int)(await _sheet.StateAsync())["version"]!);
    }

    [Theory]
    [MemberData(nameof(Doors))]
    public async Task A_name_of_somebody_elses_that_points_here_opens_no_door(string method, string path)
    {
        string port = _sheet.Host.Split(':')[1];
        foreach (string host in new[] { "example.org", "example.org:" + port, "localhost:" + port, "127.0.0.1", "127.0.0.1:1", "[::1]:" + port })
        {
            using HttpResponseMessage answer = await _sheet.SendAsync(method, path, Empty(method), r => r.Headers.Host = host);
            await AssertRefused(HttpStatusCode.MisdirectedRequest, answer);
        }
    }

    [Fact]
    public async Task A_request_without_a_host_is_refused()
    {
        string answer = await _sheet.SendRawAsync($"GET /api/state HTTP/1.0\r\nCookie: {_sheet.Cookie}\r\n\r\n");
        Assert.StartsWith("HTTP/1.1 421", answer, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_address_works_once_and_a_fresh_one_is_printed_at_the_terminal_only()
    {
        using HttpResponseMessage again = await _sheet.SendAsync("GET", _sheet.Address, null, r => r.Headers.Remove("Cookie"));
        await AssertRefused(HttpStatusCode.Forbidden, again);
        Assert.DoesNotContain("key=", await again.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        string talk = _sheet.Talk.ToString();
        string fresh = talk[talk.IndexOf("http://", StringComparison.Ordinal)..].Trim();
        Assert.NotEqual(_sheet.Address, fresh);

        using HttpResponseMessage other = await _sheet.SendAsync("GET", fresh, null, r => r.Headers.Remove("Cookie"));
        Assert.Equal(HttpStatusCode.Redirect, other.StatusCode);
        string cookie = other.Headers.GetValues("Set-Cookie").Single();
        Assert.Contains("httponly", cookie, StringComparison.OrdinalIgnoreCase);
        Assert.Contains("samesite=strict", cookie, StringComparison.OrdinalIgnoreCase);
        Assert.DoesNotContain("key=", other.Headers.Location!.ToString(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("")]
    [InlineData("0000000000000000000000000000000000000000000000000000000000000000")]
    public async Task A_guessed_key_is_worth_nothing(string key)
    {
        using HttpResponseMessage answer = await _sheet.SendAsync("GET", "/?key=" + key, null, r => r.Headers.Remove("Cookie"));
        await AssertRefused(HttpStatusCode.Forbidden, answer);
        Assert.False(answer.Headers.Contains("Set-Cookie"));
    }

    [Theory]
    [InlineData("/../../../../etc/passwd")]
    [InlineData("/%2e%2e/%2e%2e/%2e%2e/etc/passwd")]
    [InlineData("/files/../../../../etc/passwd")]
    [InlineData("/files/..%2f..%2f..%2f..%2fetc%2fpasswd")]
    [InlineData("/files/%2fetc%2fpasswd")]
    [InlineData("/files/figures/..%2frecord.json")]
    [InlineData("/files/figures/..%5crecord.json")]
    [InlineData("/files/figures/%2e%2e%2f%2e%2e%2fsecret.png")]
    [InlineData("/files/clip.mp4")]
    [InlineData("/files/secret.png")]
    [InlineData("/files//etc/passwd")]
    [InlineData("/vendor/../../secret.png")]
    public async Task No_path_leads_out_of_what_is_served(string path)
    {
        File.WriteAllText(Path.Combine(_sheet.Work, "secret.png"), "secret, root:x:0:0:");
        string answer = await _sheet.SendRawAsync($"GET {path} HTTP/1.1\r\nHost: {_sheet.Host}\r\nCookie: {_sheet.Cookie}\r\nConnection: close\r\n\r\n");
        Assert.Matches("^HTTP/1.1 40[04]", answer);
        Assert.DoesNotContain("root:", answer, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("PUT", "/api/marks")]
    [InlineData("DELETE", "/api/marks")]
    [InlineData("PATCH", "/api/options")]
    [InlineData("POST", "/")]
    [InlineData("POST", "/api/state")]
    [InlineData("GET", "/api/marks")]
    [InlineData("GET", "/api/measure")]
    [InlineData("OPTIONS", "/api/marks")]
    [InlineData("TRACE", "/api/state")]
    [InlineData("HEAD", "/api/state")]
    public async Task Other_methods_do_nothing(string method, string path)
    {
        using HttpResponseMessage answer = await _sheet.SendAsync(method, path);
        Assert.Contains(answer.StatusCode, new[] { HttpStatusCode.MethodNotAllowed, HttpStatusCode.NotFound });
        Assert.False(answer.Headers.Contains("Access-Control-Allow-Origin"));
        AssertGuardedHeaders(answer);
        Assert.Equal(0, (int)(await _sheet.StateAsync())["version"]!);
    }

    [Theory]
    [InlineData("GET", "/", HttpStatusCode.OK)]
    [InlineData("GET", "/api/state", HttpStatusCode.OK)]
    [InlineData("GET", "/api/frame/0", HttpStatusCode.OK)]
    [InlineData("GET", "/api/frame/100000", HttpStatusCode.NotFound)]
    [InlineData("GET", "/files/record.json", HttpStatusCode.OK)]
    [InlineData("GET", "/nothing-here", HttpStatusCode.NotFound)]
    [InlineData("POST", "/api/marks", HttpStatusCode.UnsupportedMediaType)]
    [InlineData("POST", "/api/report", HttpStatusCode.UnprocessableEntity)]
    public async Task Every_answer_carries_the_policy(string method, string path, HttpStatusCode status)
    {
        using HttpResponseMessage answer = await _sheet.SendAsync(method, path);
        Assert.Equal(status, answer.StatusCode);
        AssertGuardedHeaders(answer);
    }

    [Fact]
    public async Task It_listens_on_the_loopback_address_alone()
    {
        int port = int.Parse(_sheet.Host.Split(':')[1], CultureInfo.InvariantCulture);
        IPEndPoint[] listening = [.. IPGlobalProperties.GetIPGlobalProperties().GetActiveTcpListeners().Where(e => e.Port == port)];
        Assert.Equal([new IPEndPoint(IPAddress.Loopback, port)], listening);

        IEnumerable<IPAddress> others = NetworkInterface.GetAllNetworkInterfaces().SelectMany(n => n.GetIPProperties().UnicastAddresses)
            .Select(a => a.Address).Where(a => a.AddressFamily == AddressFamily.InterNetwork && !a.Equals(IPAddress.Loopback));
        foreach (IPAddress address in others.Append(IPAddress.Parse("127.0.0.2")))
        {
            using var client = new TcpClient();
            await Assert.ThrowsAsync<SocketException>(() => client.ConnectAsync(address, port));
        }
    }

    private static ByteArrayContent? Empty(string method) => method == "POST" ? new ByteArrayContent([]) : null;

    private static void Set(HttpRequestMessage request, string header, string value)
    {
        request.Headers.Remove(header);
        request.Headers.TryAddWithoutValidation(header, value);
    }

    private static async Task AssertRefused(HttpStatusCode status, HttpResponseMessage answer)
    {
        Assert.Equal(status, answer.StatusCode);
        Assert.Equal("text/plain", answer.Content.Headers.ContentType!.MediaType);
        Assert.InRange((await answer.Content.ReadAsStringAsync()).Length, 10, 200);
        AssertGuardedHeaders(answer);
    }

    private static void AssertGuardedHeaders(HttpResponseMessage answer)
    {
        string policy = answer.Headers.GetValues("Content-Security-Policy").Single();
        Assert.Contains("default-src 'none'", policy, StringComparison.Ordinal);
        Assert.Contains("frame-ancestors 'none'", policy, StringComparison.Ordinal);
        Assert.DoesNotContain("unsafe", policy, StringComparison.Ordinal);
        Assert.Equal("nosniff", answer.Headers.GetValues("X-Content-Type-Options").Single());
        Assert.Equal("no-referrer", answer.Headers.GetValues("Referrer-Policy").Single());
        Assert.Equal("same-origin", answer.Headers.GetValues("Cross-Origin-Opener-Policy").Single());
        Assert.Equal("same-origin", answer.Headers.GetValues("Cross-Origin-Resource-Policy").Single());
        Assert.False(answer.Headers.Contains("Server"));
    }

    /// <summary>One worksheet for all: what is tried here changes nothing in it.</summary>
    public sealed class Served : IAsyncLifetime
    {
        internal OpenWorksheet Sheet { get; private set; } = null!;

        public async Task InitializeAsync() => Sheet = await OpenWorksheet.OnAsync(Fixtures.PathOf("clips-small", "plain.mp4"));

        public async Task DisposeAsync() => await Sheet.DisposeAsync();
    }
}
