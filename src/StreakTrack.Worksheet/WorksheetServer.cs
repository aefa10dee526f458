using System.Net;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Hosting.Server.Features;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.Extensions.DependencyInjection;
using StreakTrack.Worksheet.Access;
using StreakTrack.Worksheet.Serving;

namespace StreakTrack.Worksheet;

/// <summary>Serves the worksheet to one browser on this machine, on a port that the system chooses.</summary>
public sealed class WorksheetServer : IAsyncDisposable
{
    /// <summary>How long open requests may take to end when the worksheet is closed, in s.</summary>
    private const int StopSeconds = 2;

    private readonly WebApplication _app;
    private readonly Desk.Desk _desk;
    private readonly CancellationTokenSource _stopping;
    private readonly AccessGuard _guard;

    private WorksheetServer(WebApplication app, Desk.Desk desk, CancellationTokenSource stopping, AccessGuard guard, string host)
    {
        (_app, _desk, _stopping, _guard) = (app, desk, stopping, guard);
        Host = host;
    }

    /// <summary>Host and port served, 127.0.0.1 and a number.</summary>
    public string Host { get; }

    /// <summary>The address to open. It works once; whoever opens it is known by a cookie from then on.</summary>
    public string Address => _guard.Address();

    /// <summary>Starts to serve.</summary>
    /// <param name="options">What to serve, and where the work goes.</param>
    /// <param name="talk">Where remarks for people go.</param>
    /// <param name="cancellationToken">Stops the start.</param>
    /// <exception cref="Core.UnusableInputException">The clip named in the options is none.</exception>
    /// <exception cref="IOException">The work folder cannot be made.</exception>
    public static async Task<WorksheetServer> StartAsync(WorksheetOptions options, TextWriter talk, CancellationToken cancellationToken = default)
    {
        Directory.CreateDirectory(options.WorkFolder);
        var hub = new EventHub();
        var desk = new Desk.Desk(options, hub);
        if (options.ClipPath is string clip)
            await desk.OpenAsync(clip, cancellationToken);

        // No configuration files, no environment variables, no logging: nothing from outside moves the listener off the loopback address.
        WebApplicationBuilder builder = WebApplication.CreateEmptyBuilder(new WebApplicationOptions());
        builder.WebHost.UseKestrelCore().ConfigureKestrel(kestrel =>
        {
            kestrel.AddServerHeader = false;
            kestrel.Limits.MaxRequestBodySize = Endpoints.MaxRequestBytes;
            kestrel.Listen(IPAddress.Loopback, 0);
        });
        builder.Services.AddRoutingCore();
        builder.Services.Configure<Microsoft.Extensions.Hosting.HostOptions>(o => o.ShutdownTimeout = TimeSpan.FromSeconds(StopSeconds));
        WebApplication app = builder.Build();

        string host = "";
        var stopping = new CancellationTokenSource();
        var guard = new AccessGuard(new AccessKey(), () => host, talk);
        app.Use(next => context => guard.HandleAsync(context, next));
        var endpoints = new Endpoints(desk, hub, stopping.Token);
        app.Use(next => context => endpoints.TellFailuresAsync(context, next));
        app.UseRouting();
        endpoints.Map(app);
        await app.StartAsync(cancellationToken);
        string address = app.Services.GetRequiredService<IServer>().Features.GetRequiredFeature<IServerAddressesFeature>().Addresses.First();
        host = new Uri(address).Authority;
        return new WorksheetServer(app, desk, stopping, guard, host);
    }

    /// <summary>Stops to serve. What was done is saved already; a measurement under way is given up.</summary>
    public async ValueTask DisposeAsync()
    {
        await _stopping.CancelAsync();
        await _app.StopAsync();
        _desk.Dispose();
        await _app.DisposeAsync();
        _stopping.Dispose();
    }
}
