using System.Globalization;
using System.Text;
using System.Text.Json;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.Routing;
using StreakTrack.Core;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;
using StreakTrack.Imaging.Streaks;
using StreakTrack.Reporting;
using StreakTrack.Worksheet.Desk;

namespace StreakTrack.Worksheet.Serving;

/// <summary>What the page can ask for. Everything that changes the notebook names the version it was made to.</summary>
internal sealed class Endpoints(Desk.Desk desk, EventHub hub, CancellationToken stopping)
{
    /// <summary>A request of the page's own is never larger; clips have their own limit.</summary>
    public const long MaxRequestBytes = 1 << 20;

    /// <summary>Marks that can be set; beyond a few dozen nothing is gained.</summary>
    private const int MaxMarks = 500;

    private const int MaxReasonLetters = 200;

    // Marks may lie beside the picture, but not absurdly far.
    private const double MaxPx = 1e5, MaxMm = 1e6;

    // A report is our own text with a style sheet inside; it runs nothing and loads nothing.
    private const string ReportPolicy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox";

    private static readonly Dictionary<string, string> Results = new(StringComparer.Ordinal)
    {
        [ReportFolder.ReportFile] = "text/html; charset=utf-8",
        [ReportFolder.RecordFile] = "application/json",
        [ReportFolder.SeriesFile] = "text/csv; charset=utf-8",
        [ReportFolder.PackageFile] = "application/json",
    };

    /// <summary>Lays out the addresses.</summary>
    public void Map(IEndpointRouteBuilder app)
    {
        app.MapGet("/api/state", State);
        app.MapGet("/api/series", () => Json(NotebookView.Series(Notebook().State)));
        app.MapGet("/api/events", EventsAsync);
        app.MapPost("/api/clip", (Delegate)UploadAsync);
        app.MapGet("/api/frame/{frame:int}", FrameAsync);
        app.MapGet("/api/profile/{frame:int}", Profile);
        app.MapGet("/api/still", async () => new PictureResult((await Notebook().StillsAsync()).Jpeg, mayKeep: true));
        app.MapGet("/api/still/facts", async () => Json(new { (await Notebook().StillsAsync()).CameraMoves }));
        app.MapPost("/api/snap", SnapAsync);
        app.MapPost("/api/marks", MarksAsync);
        app.MapPost("/api/options", OptionsAsync);
        app.MapPost("/api/exclude", ExcludeAsync);
        app.MapPost("/api/measure", MeasureAsync);
        app.MapPost("/api/measure/cancel", Cancel);
        app.MapPost("/api/report", ReportAsync);
        app.MapGet("/files/{name}", Result);
        app.MapGet("/files/figures/{name}", Figure);
        app.MapGet("/{**path}", PageFile);
    }

    /// <summary>Turns failures into answers that the page shows.</summary>
    public async Task TellFailuresAsync(HttpContext context, RequestDelegate next)
    {
        try
        {
            await next(context);
        }
        catch (OperationCanceledException) when (context.RequestAborted.IsCancellationRequested)
        {
            // Nobody waits for the answer.
        }
        catch (Exception e) when (!context.Response.HasStarted)
        {
            if (e is StaleVersionException)
            {
                // With what stands there now, so that the page need not ask again before it tries again.
                await Json(new { Problem = e.Message, State = NotebookView.Of(desk) }, StatusCodes.Status409Conflict).ExecuteAsync(context);
                return;
            }

            (int status, string text) = e switch
            {
                UploadTooLargeException => (StatusCodes.Status413PayloadTooLarge, e.Message),
                UnusableInputException => (StatusCodes.Status422UnprocessableEntity, e.Message),
                BadHttpRequestException bad => (bad.StatusCode, bad.Message),
                JsonException => (StatusCodes.Status400BadRequest, "The request cannot be read."),
                MissingComponentException or IOException or UnauthorizedAccessException => (StatusCodes.Status500InternalServerError, e.Message),
                OperationCanceledException => (StatusCodes.Status503ServiceUnavailable, "The worksheet was closed or another clip was opened."),
                _ => (StatusCodes.Status500InternalServerError, $"A fault of the program ({e.GetType().Name}: {e.Message}). Please report it."),
            };
            await Problem(status, text).ExecuteAsync(context);
        }
    }

    private Notebook Notebook() =>
        desk.Open ?? throw new UnusableInputException("the worksheet", "no clip is open", "Choose a clip first.");

    private static IResult Json(object value, int status = StatusCodes.Status200OK) =>
        Microsoft.AspNetCore.Http.Results.Text(JsonText.Write(value), "application/json", Encoding.UTF8, status);

    private static IResult Problem(int status, string text) => Json(new { Problem = text }, status);

    private IResult State() => Json(NotebookView.Of(desk));

    private static async Task<T> ReadAsync<T>(HttpRequest request)
    {
        if (!request.HasJsonContentType())
            throw new BadHttpRequestException("JSON is expected.", StatusCodes.Status415UnsupportedMediaType);
        return await JsonText.ReadAsync<T>(request.Body, request.HttpContext.RequestAborted)
            ?? throw new BadHttpRequestException("The request is empty.");
    }

    private async Task EventsAsync(HttpContext context)
    {
        using var either = CancellationTokenSource.CreateLinkedTokenSource(context.RequestAborted, stopping);
        context.Response.ContentType = "text/event-stream";
        context.Features.Get<IHttpResponseBodyFeature>()?.DisableBuffering();
        await context.Response.WriteAsync("retry: 500\nevent: hello\ndata: {}\n\n", either.Token);
        await context.Response.Body.FlushAsync(either.Token);
        try
        {
            await foreach (PageEvent told in hub.ListenAsync(either.Token))
            {
                await context.Response.WriteAsync($"event: {told.Name}\ndata: {told.Json}\n\n", either.Token);
                await context.Response.Body.FlushAsync(either.Token);
            }
        }
        catch (OperationCanceledException)
        {
            // The page went, or the program ends.
        }
    }

    private async Task<IResult> UploadAsync(HttpContext context)
    {
        HttpRequest request = context.Request;
        string name = Uri.UnescapeDataString(request.Headers["X-Clip-Name"].ToString());
        name = new string([.. name.Replace('\\', '/').Split('/')[^1].Where(c => !char.IsControl(c)).Take(200)]);
        if (name.Length == 0)
            name = "clip";
        long limit = desk.Options.MaxUploadBytes;
        if (request.ContentLength > limit)
        {
            // The rest of the upload is not waited for.
            context.Response.Headers.Connection = "close";
            throw new UploadTooLargeException(name, limit);
        }

        // Counted on the way, with a margin for the last buffer; the limit of ordinary requests does not hold here.
        context.Features.GetRequiredFeature<IHttpMaxRequestBodySizeFeature>().MaxRequestBodySize = null;
        await desk.UploadAsync(request.Body, name, context.RequestAborted);
        return State();
    }

    private async Task<IResult> FrameAsync(int frame, HttpContext context)
    {
        FrameShelf shelf = Notebook().Shelf;
        bool certain = shelf.HasSeen(frame);
        byte[]? picture = await shelf.PictureAsync(frame, context.Request.Query["full"] == "1", context.RequestAborted);
        return picture is null ? NoFrame(frame) : new PictureResult(picture, mayKeep: certain);
    }

    private IResult Profile(int frame)
    {
        Notebook notebook = Notebook();
        NotebookState state = notebook.State;
        if (notebook.ProfileOf(frame) is not FrameProfile profile)
            return NoFrame(frame);
        FrameFlags flags = state.Series is { } series && frame < series.Count ? series[frame].Flags : profile.Reading.Flags;
        return Json(NotebookView.Profile(profile, state.Analysis?.Scale ?? state.Scale, flags));
    }

    private static IResult NoFrame(int frame) => Problem(
        StatusCodes.Status404NotFound, string.Create(CultureInfo.InvariantCulture, $"There is no frame {frame}, or it is not measured."));

    private async Task<IResult> SnapAsync(HttpRequest request)
    {
        SnapRequest asked = await ReadAsync<SnapRequest>(request);
        TickSnap? snap = await Notebook().SnapAsync(new PicturePoint(asked.UPx, asked.VPx), asked.ReachPx);
        return Json(new { Found = snap is not null, UPx = snap?.Point.UPx, VPx = snap?.Point.VPx, snap?.UncertaintyPx });
    }

    private async Task<IResult> MarksAsync(HttpRequest request)
    {
        MarksRequest asked = await ReadAsync<MarksRequest>(request);
        if (asked.Marks.Count > MaxMarks)
            throw new UnusableInputException("the marks", $"there are more than {MaxMarks}", "Set fewer.");
        if (!asked.Marks.All(m => m is not null && Math.Abs(m.UPx) < MaxPx && Math.Abs(m.VPx) < MaxPx && Math.Abs(m.ReadingMm) < MaxMm))
            throw new UnusableInputException("the marks", "a number is missing or out of all proportion", "Correct the mark.");
        await Notebook().ChangeAsync(asked.Version, state => state with { Marks = asked.Marks });
        return State();
    }

    private async Task<IResult> OptionsAsync(HttpRequest request)
    {
        OptionsRequest asked = await ReadAsync<OptionsRequest>(request);
        await Notebook().ChangeAsync(asked.Version, state => state with { Options = asked.Over(state.Options) });
        return State();
    }

    private async Task<IResult> ExcludeAsync(HttpRequest request)
    {
        ExcludeRequest asked = await ReadAsync<ExcludeRequest>(request);
        Notebook notebook = Notebook();
        if (asked.Frame < 0 || asked.Frame >= notebook.Shelf.Count)
            return NoFrame(asked.Frame);
        if (asked.Reason?.Length > MaxReasonLetters)
            throw new UnusableInputException("the reason", $"it has more than {MaxReasonLetters} letters", "Say it shorter.");
        await notebook.ChangeAsync(asked.Version, state => state with { Options = asked.Over(state.Options) });
        return State();
    }

    private async Task<IResult> MeasureAsync(HttpRequest request)
    {
        await Notebook().MeasureAsync((await ReadAsync<VersionRequest>(request)).Version);
        return State();
    }

    private IResult Cancel()
    {
        Notebook().CancelMeasuring();
        return State();
    }

    private async Task<IResult> ReportAsync()
    {
        await Notebook().ReportAsync();
        return State();
    }

    private IResult Result(string name, HttpContext context)
    {
        Notebook notebook = Notebook();
        if (!Results.TryGetValue(name, out string? type))
            return Microsoft.AspNetCore.Http.Results.NotFound();

        // The record is there from the first mark on.
        if (name == ReportFolder.RecordFile)
            return Microsoft.AspNetCore.Http.Results.File(Encoding.UTF8.GetBytes(RecordJson.Write(notebook.Record())), type, name);
        string path = Path.Combine(notebook.FolderPath, name);
        if (!File.Exists(path))
            return Microsoft.AspNetCore.Http.Results.NotFound();
        if (name != ReportFolder.ReportFile)
            return Microsoft.AspNetCore.Http.Results.File(path, type, name);
        context.Response.Headers.ContentSecurityPolicy = ReportPolicy;
        return Microsoft.AspNetCore.Http.Results.File(path, type);
    }

    private IResult Figure(string name)
    {
        Notebook notebook = Notebook();
        string type = Path.GetExtension(name) switch { ".svg" => "image/svg+xml", ".png" => "image/png", _ => "" };
        string folder = Path.Combine(notebook.FolderPath, ReportFolder.FiguresFolder);

        // Only a name that the folder itself lists is ever opened.
        string? path = type.Length > 0 && Directory.Exists(folder)
            ? Directory.EnumerateFiles(folder).FirstOrDefault(f => Path.GetFileName(f) == name)
            : null;
        return path is null ? Microsoft.AspNetCore.Http.Results.NotFound() : Microsoft.AspNetCore.Http.Results.File(path, type, name);
    }

    private static IResult PageFile(HttpRequest request) => PageFiles.Find(request.Path.Value ?? "/") is PageFile file
        ? Microsoft.AspNetCore.Http.Results.Bytes(file.Bytes, file.ContentType)
        : Microsoft.AspNetCore.Http.Results.NotFound();
}
