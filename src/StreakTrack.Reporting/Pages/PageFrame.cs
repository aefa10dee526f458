using System.Security.Cryptography;
using System.Text;
using System.Xml.Linq;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.Pages;

/// <summary>What all pages share: head, style, title and foot.</summary>
internal static class PageFrame
{
    /// <summary>Nothing may be loaded or run, whatever a file name or a message contains.</summary>
    private const string ContentPolicy = "default-src 'none'; img-src data:; style-src 'unsafe-inline'";

    /// <summary>The page as text.</summary>
    /// <param name="title">Its title.</param>
    /// <param name="subject">What it is about: a file name.</param>
    /// <param name="foot">The text at the foot.</param>
    /// <param name="sections">The sections; null is left out.</param>
    public static string Write(string title, string subject, string foot, params XElement?[] sections) => Write(title, subject, foot, "", sections);

    /// <summary>The page as text, with a script of ours, the only one that may run.</summary>
    /// <param name="title">Its title.</param>
    /// <param name="subject">What it is about: a file name.</param>
    /// <param name="foot">The text at the foot.</param>
    /// <param name="script">The script, free of the signs that HTML and XML read differently; empty for none.</param>
    /// <param name="sections">The sections; null is left out.</param>
    public static string Write(string title, string subject, string foot, string script, XElement?[] sections) => HtmlText.Page(
        El("html", null, new XAttribute("lang", "en"),
            El("head", null,
                El("meta", null, new XAttribute("charset", "utf-8")),
                El("meta", null, new XAttribute("name", "viewport"), new XAttribute("content", "width=device-width, initial-scale=1")),
                El("meta", null, new XAttribute("http-equiv", "Content-Security-Policy"), new XAttribute("content", ContentPolicy + PolicyOf(script))),
                El("title", null, subject.Length == 0 ? title : $"{title}: {subject}"),
                El("style", null, StyleSheet.Text)),
            El("body", null,
                El("header", "title", El("h1", null, title), P(subject)),
                El("main", null, sections),
                El("footer", null, P(foot)),
                script.Length == 0 ? null : El("script", null, script))));

    private static string PolicyOf(string script) => script.Length == 0
        ? "" : $"; script-src 'sha256-{Convert.ToBase64String(SHA256.HashData(Encoding.UTF8.GetBytes(script)))}'";
}
