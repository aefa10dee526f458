using Microsoft.AspNetCore.Http;

namespace StreakTrack.Worksheet.Serving;

/// <summary>A JPEG picture. The browser may keep it: the address names the clip, and a clip's frame never changes, once it is certain which it is.</summary>
internal sealed class PictureResult(byte[] jpeg, bool mayKeep) : IResult
{
    public async Task ExecuteAsync(HttpContext httpContext)
    {
        HttpResponse response = httpContext.Response;
        response.ContentType = "image/jpeg";
        response.ContentLength = jpeg.Length;
        if (mayKeep)
            response.Headers.CacheControl = "private, max-age=86400, immutable";
        await response.Body.WriteAsync(jpeg, httpContext.RequestAborted);
    }
}
