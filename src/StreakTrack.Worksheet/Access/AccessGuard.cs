using Microsoft.AspNetCore.Http;
using Microsoft.Net.Http.Headers;

namespace StreakTrack.Worksheet.Access;

/// <summary>Stands before everything that is served: only the browser that was given the key, only under this address, only from this page.</summary>
internal sealed class AccessGuard(AccessKey key, Func<string> host, TextWriter talk)
{
    /// <summary>Name of the cookie's prefix; the port is added, because cookies do not tell ports apart.</summary>
    private const string CookieName = "streaktrack-";

    // Scripts, styles and pictures of this page only; nothing inline, nothing evaluated, no frames around it, no forms to elsewhere.
    private const string ContentPolicy =
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; font-src 'self'; "
        + "base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

    public async Task HandleAsync(HttpContext context, RequestDelegate next)
    {
        HttpRequest request = context.Request;
        HttpResponse response = context.Response;
        response.Headers[HeaderNames.ContentSecurityPolicy] = ContentPolicy;
        response.Headers[HeaderNames.XContentTypeOptions] = "nosniff";
        response.Headers["Referrer-Policy"] = "no-referrer";
        response.Headers["Cross-Origin-Opener-Policy"] = "same-origin";
        response.Headers["Cross-Origin-Resource-Policy"] = "same-origin";
        response.Headers[HeaderNames.CacheControl] = "no-store";

        // A name of somebody else's that was pointed at this machine carries that name here. Until the port is known nothing is served.
        if (host().Length == 0 || !string.Equals(request.Headers.Host.ToString(), host(), StringComparison.Ordinal))
        {
            await RefuseAsync(response, StatusCodes.Status421MisdirectedRequest, "This address is not served here.");
            return;
        }

        if (IsForeign(request))
        {
            await RefuseAsync(response, StatusCodes.Status403Forbidden, "Requests of other pages are refused.");
            return;
        }

        string cookie = CookieName + host().Split(':')[1];
        bool isKnown = key.IsSession(request.Cookies[cookie]);
        if (HttpMethods.IsGet(request.Method) && request.Path == "/" && request.Query["key"] is { Count: 1 } given)
        {
            if (isKnown || key.TryUse(given.ToString()))
            {
                response.Cookies.Append(cookie, key.Session, new CookieOptions { HttpOnly = true, SameSite = Microsoft.AspNetCore.Http.SameSiteMode.Strict, Path = "/" });
                response.Redirect("/");
                return;
            }

            if (key.WasUsed(given.ToString()))
            {
                key.Renew();
                await talk.WriteLineAsync($"streaktrack: the address was used before; for another browser there is this one: {Address()}");
                await RefuseAsync(response, StatusCodes.Status403Forbidden,
                    "This address has been used, and works once only. A fresh one is printed where streaktrack was started.");
                return;
            }
        }

        if (!isKnown)
        {
            await RefuseAsync(response, StatusCodes.Status403Forbidden,
                "This worksheet belongs to another browser. Open the address that streaktrack printed when it was started.");
            return;
        }

        await next(context);
    }

    /// <summary>The address with the key.</summary>
    public string Address() => $"http://{host()}/?key={key.Key}";

    // Browsers say where a request comes from. A page of another origin is refused, and so is a change that does not say.
    private bool IsForeign(HttpRequest request)
    {
        string origin = request.Headers.Origin.ToString(), site = request.Headers["Sec-Fetch-Site"].ToString();
        bool isChange = !HttpMethods.IsGet(request.Method) && !HttpMethods.IsHead(request.Method);
        if (origin.Length > 0 ? origin != $"http://{host()}" : isChange)
            return true;

        // The address itself may be followed from anywhere, a mail for example; it carries the key or leads nowhere.
        bool isFirst = HttpMethods.IsGet(request.Method) && request.Path == "/";
        return site is not ("" or "same-origin" or "none") && !isFirst;
    }

    private static Task RefuseAsync(HttpResponse response, int status, string text)
    {
        response.StatusCode = status;
        response.ContentType = "text/plain; charset=utf-8";
        return response.WriteAsync(text + "\n");
    }
}
