using Microsoft.AspNetCore.Http;

namespace StreakTrack.Worksheet.Serving;

/// <summary>A JPEG picture, which the browser may keep: the address names the clip, and a clip's frame never changes.</summary>
internal sealed class PictureResult(byte[] jpeg) : IResult
{
    public async Task ExecuteAsync(HttpContext httpContext)
    {
        HttpResponse response = httpContext.Response;
        response.ContentType = "image/jpeg";
        response.ContentLength = jpeg.Length;
        response.Headers.CacheControl = "private, max-age=86400, immutable";
        await response.Body.WriteAsync(jpeg, httpContext.RequestAborted);
    }
}
