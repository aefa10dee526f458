using System.Net;
using System.Net.Http.Json;
using System.Text;
using System.Text.Json.Nodes;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Worksheet.Tests;

/// <summary>Clips that are dropped on the page.</summary>
public sealed class UploadTests
{
    private static readonly byte[] Clip = File.ReadAllBytes(Fixtures.PathOf("clips-small", "plain.mp4"));

    [Fact]
    public async Task A_dropped_clip_is_opened_and_a_page_of_the_clip_before_cannot_change_it()
    {
        await using OpenWorksheet sheet = await OpenWorksheet.OnAsync(Fixtures.PathOf("clips-small", "uneven.mp4"));
        int old = (int)(await sheet.StateAsync())["version"]!;
        (HttpStatusCode status, JsonObject state) = await DropAsync(sheet, new ByteArrayContent(Clip), "my clip.mp4");
        Assert.Equal(HttpStatusCode.OK, status);
        Assert.Equal("my clip.mp4", (string)state["clip"]!["name"]!);
        Assert.Equal(Clip.Length, (long)state["clip"]!["bytes"]!);
        Assert.Equal(HttpStatusCode.Conflict, (await sheet.PostAsync("/api/options", new { version = old, options = new { seed = 2 } })).Status);
        Assert.Equal(HttpStatusCode.OK, (await sheet.PostAsync("/api/options", new { version = (int)state["version"]!, options = new { seed = 2 } })).Status);
    }

    [Theory]
    [InlineData("../../../evil.mp4")]
    [InlineData("/etc/evil.mp4")]
    [InlineData("..\\..\\evil.mp4")]
    [InlineData("..")]
    [InlineData("evil\0.sh")]
    public async Task The_name_of_a_dropped_clip_leads_nowhere(string name)
    {
        using var outer = new TemporaryFolder();
        string work = outer.PathOf("work");
        await using OpenWorksheet sheet = await OpenWorksheet.StartAsync(new WorksheetOptions { WorkFolder = work });
        Assert.Equal(HttpStatusCode.OK, (await DropAsync(sheet, new ByteArrayContent(Clip), name)).Status);
        Assert.Equal([work], Directory.GetFileSystemEntries(outer.FullPath));
        string stored = Assert.Single(Directory.GetFiles(work, "*", SearchOption.AllDirectories), f => Path.GetExtension(f) == ".mp4");
        Assert.Equal(Clip, File.ReadAllBytes(stored));
    }

    [Fact]
    public async Task A_file_that_is_no_clip_is_refused_and_the_open_clip_stays()
    {
        await using OpenWorksheet sheet = await OpenWorksheet.OnAsync(Fixtures.PathOf("clips-small", "plain.mp4"));
        string before = (await sheet.StateAsync())["clip"]!["sha256"]!.ToString();
        byte[][] wrong = [Encoding.ASCII.GetBytes("#EXTM3U\nhttp://example.org/x.ts\n"), [], Clip[..2000], new byte[5000]];
        foreach (byte[] bytes in wrong)
        {
            (HttpStatusCode status, JsonObject answer) = await DropAsync(sheet, new ByteArrayContent(bytes), "holiday.mp4");
            Assert.Equal(HttpStatusCode.UnprocessableEntity, status);
            Assert.StartsWith("holiday.mp4", (string)answer["problem"]!, StringComparison.Ordinal);
            Assert.DoesNotContain("unfinished", (string)answer["problem"]!, StringComparison.Ordinal);
        }

        Assert.Equal(before, (await sheet.StateAsync())["clip"]!["sha256"]!.ToString());
        Assert.Empty(Directory.GetFiles(sheet.Work, "upload-*", SearchOption.AllDirectories));
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task A_clip_that_is_too_large_is_refused_whether_it_says_so_before_or_not(bool announced)
    {
        using var work = new TemporaryFolder();
        await using OpenWorksheet sheet = await OpenWorksheet.StartAsync(new WorksheetOptions { WorkFolder = work.FullPath, MaxUploadBytes = 10_000 });
        HttpContent content = announced ? new ByteArrayContent(new byte[20_000]) : new StreamContent(new Unannounced(new byte[20_000]));
        (HttpStatusCode status, JsonObject answer) = await DropAsync(sheet, content, "long.mp4");
        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, status);
        Assert.Contains("long.mp4", (string)answer["problem"]!, StringComparison.Ordinal);
        Assert.Empty(Directory.GetFileSystemEntries(work.FullPath));
    }

    [Fact]
    public async Task A_clip_that_would_be_decoded_inside_this_process_is_tried_in_another_first()
    {
        using var work = new TemporaryFolder();
        string? problem = "it crashes decoders";
        var tried = new List<byte[]>();
        await using OpenWorksheet sheet = await OpenWorksheet.StartAsync(new WorksheetOptions { WorkFolder = work.FullPath, Reader = "embedded", Trial = TryAsync });
        (HttpStatusCode status, JsonObject answer) = await DropAsync(sheet, new ByteArrayContent(Clip), "odd.mp4");
        Assert.Equal(HttpStatusCode.UnprocessableEntity, status);
        Assert.StartsWith("odd.mp4: it crashes decoders", (string)answer["problem"]!, StringComparison.Ordinal);
        Assert.Empty(Directory.GetFileSystemEntries(work.FullPath));
        problem = null;
        Assert.Equal(HttpStatusCode.OK, (await DropAsync(sheet, new ByteArrayContent(Clip), "odd.mp4")).Status);
        Assert.Equal([Clip, Clip], tried);

        Task<string?> TryAsync(string path, CancellationToken cancellationToken)
        {
            tried.Add(File.ReadAllBytes(path));
            return Task.FromResult<string?>(problem);
        }
    }

    [Fact]
    public async Task A_clip_that_the_ffmpeg_program_decodes_needs_no_trial()
    {
        using var work = new TemporaryFolder();
        await using OpenWorksheet sheet = await OpenWorksheet.StartAsync(new WorksheetOptions
        {
            WorkFolder = work.FullPath, Reader = "ffmpeg", Trial = (_, _) => throw new InvalidOperationException("It was tried."),
        });
        Assert.Equal(HttpStatusCode.OK, (await DropAsync(sheet, new ByteArrayContent(Clip), "plain.mp4")).Status);
    }

    private static async Task<(HttpStatusCode Status, JsonObject Answer)> DropAsync(OpenWorksheet sheet, HttpContent content, string name)
    {
        using HttpResponseMessage answer = await sheet.SendAsync(
            "POST", "/api/clip", content, r => r.Headers.Add("X-Clip-Name", Uri.EscapeDataString(name)));
        return (answer.StatusCode, (await answer.Content.ReadFromJsonAsync<JsonObject>())!);
    }

    /// <summary>A stream that does not tell its length, so that it is sent in chunks.</summary>
    private sealed class Unannounced(byte[] bytes) : MemoryStream(bytes)
    {
        public override bool CanSeek => false;
    }
}
