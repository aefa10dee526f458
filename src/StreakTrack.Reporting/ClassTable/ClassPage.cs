using System.Globalization;
using System.Xml.Linq;
using StreakTrack.Core.Submissions;
using StreakTrack.Reporting.Pages;
using static StreakTrack.Reporting.Pages.Html;

namespace StreakTrack.Reporting.ClassTable;

/// <summary>The table of a class as a page that needs nothing beside it, to be sorted and filtered.</summary>
public static class ClassPage
{
    // No ampersands and angle brackets: the page is written as one tree for HTML and XML readers alike.
    private const string Script = """

        (function () {
          var body = document.querySelector("#class tbody"), words = document.querySelector("#words"), verdict = document.querySelector("#verdict");
          var rows = Array.from(body.rows);
          function show() {
            rows.forEach(function (row) {
              var fits = row.textContent.toLowerCase().includes(words.value.toLowerCase());
              row.hidden = !(fits ? (verdict.value === "" ? true : row.dataset.verdict === verdict.value) : false);
            });
          }
          words.addEventListener("input", show);
          verdict.addEventListener("change", show);
          document.querySelectorAll("#class thead button").forEach(function (button, column) {
            var direction = -1;
            button.addEventListener("click", function () {
              direction = -direction;
              document.querySelectorAll("#class thead th").forEach(function (th) { th.removeAttribute("aria-sort"); });
              button.parentElement.setAttribute("aria-sort", direction === 1 ? "ascending" : "descending");
              rows.sort(function (a, b) {
                var x = a.cells[column].dataset.value, y = b.cells[column].dataset.value;
                var difference = parseFloat(x) - parseFloat(y);
                return direction * (button.dataset.kind === "number" ? (isNaN(difference) ? (x === y ? 0 : x === "" ? 1 : -1) : difference) : x.localeCompare(y));
              });
              rows.forEach(function (row) { body.appendChild(row); });
            });
          });
        })();

        """;

    private static IEnumerable<(string Title, bool IsNumber)> Columns(bool hasReference) =>
    [
        ("Submission", false), ("Verdict", false), ("τ / s", true), ("u(τ) / s", true), ("automatic τ / s", true), ("U of automatic τ / s", true), ("Eₙ", true),
        .. hasReference ? [("Eₙ to reference", true)] : ((string, bool)[])[], ("Findings", false), ("Resembles", false),
    ];

    /// <summary>The page.</summary>
    public static string Write(IReadOnlyList<ClassRow> rows) => Write(rows, rows.Any(r => r.Judgement.ReferenceTauS is not null));

    private static string Write(IReadOnlyList<ClassRow> rows, bool hasReference) => PageFrame.Write(
        "Submissions of a class", "", "Eₙ is the normalised error of ISO/IEC 17043 of the stated decay time against an automatic run, with expanded "
            + "uncertainties U = 2 u; results agree when it lies between −1 and 1. A resemblance is a hint, not an accusation.",
        Script,
        [El("section", "wide",
            El("p", null,
                El("label", null, "Show ", El("input", null, new XAttribute("id", "words"), new XAttribute("type", "search"), new XAttribute("placeholder", "name or finding"))), " ",
                El("label", null, "Verdict ", El("select", null, new XAttribute("id", "verdict"), El("option", null, new XAttribute("value", ""), "all"),
                    Enum.GetValues<Verdict>().Select(v => El("option", null, new XAttribute("value", v), ClassCsv.NameOf(v))))), " ",
                El("span", "small", $"{rows.Count} submissions. A click on a heading sorts.")),
            El("div", "scroll", El("table", null, new XAttribute("id", "class"),
                El("thead", null, El("tr", null, Columns(hasReference).Select(c => El("th", null, new XAttribute("scope", "col"),
                    El("button", null, new XAttribute("type", "button"), new XAttribute("data-kind", c.IsNumber ? "number" : "text"), c.Title))))),
                El("tbody", null, rows.Select(r => Row(r, hasReference))))))]);

    private static XElement Row(ClassRow row, bool hasReference)
    {
        Judgement j = row.Judgement;
        return El("tr", null, new XAttribute("data-verdict", j.Verdict),
            Cell("th", j.Submission, row.Report is null ? j.Submission : El("a", null, new XAttribute("href", row.Report), j.Submission)),
            Cell("td", ((int)j.Verdict).ToString(CultureInfo.InvariantCulture), ClassCsv.NameOf(j.Verdict), "verdict-" + j.Verdict),
            Number(j.StatedTauS?.Value, 4), Number(j.StatedTauS?.StandardUncertainty, 4), Number(j.AutomaticTauS?.Value, 4),
            Number(2 * j.AutomaticTauS?.StandardUncertainty, 4), Number(j.NormalisedError, 2),
            hasReference ? Number(j.ReferenceNormalisedError, 2) : null,
            Cell("td", string.Join(' ', j.Reasons.Select(r => r.Code)), j.Reasons.Select(r => El("p", "small severity-" + r.Severity, Code(r.Code), " ", r.Message))),
            Cell("td", string.Join(' ', row.Alike), row.Alike.Select(a => El("p", "small", a)), "resembles"));
    }

    private static XElement Cell(string element, string value, object content, string? cssClass = null) =>
        El(element, cssClass, new XAttribute("data-value", value), element == "th" ? new XAttribute("scope", "row") : null, content);

    private static XElement Number(double? value, int decimals) => El("td", "number",
        new XAttribute("data-value", value is double v && double.IsFinite(v) ? v.ToString("R", CultureInfo.InvariantCulture) : ""), Numbers.Fixed(value is double shown ? Math.Round(shown, decimals) + 0.0 : null, decimals));
}
