using System.Globalization;
using System.Text;
using StreakTrack.Core.Submissions;

namespace StreakTrack.Reporting.ClassTable;

/// <summary>The table of a class as CSV (RFC 4180).</summary>
public static class ClassCsv
{
    /// <summary>How a verdict is called.</summary>
    public static string NameOf(Verdict verdict) => verdict switch
    {
        Verdict.Reproduced => "reproduced",
        Verdict.ReproducedWithinUncertainty => "reproduced within uncertainty",
        Verdict.Differs => "differs",
        _ => "can't be judged",
    };

    /// <summary>The table as text.</summary>
    public static string Write(IReadOnlyList<ClassRow> rows)
    {
        var text = new StringBuilder("submission,verdict,tau_s,tau_u_s,rerun_tau_s,automatic_tau_s,automatic_tau_u_s,normalised_error,reference_tau_s,reference_normalised_error,model,automatic_model,findings,reasons,alike,report\r\n");
        foreach (ClassRow row in rows)
        {
            Judgement j = row.Judgement;
            text.AppendJoin(',', new[]
            {
                Text(j.Submission), Text(NameOf(j.Verdict)), Number(j.StatedTauS?.Value), Number(j.StatedTauS?.StandardUncertainty),
                Number(j.RerunTauS?.Value), Number(j.AutomaticTauS?.Value), Number(j.AutomaticTauS?.StandardUncertainty), Number(j.NormalisedError),
                Number(j.ReferenceTauS?.Value), Number(j.ReferenceNormalisedError),
                Text(j.Model ?? ""), Text(j.AutomaticModel ?? ""), Text(string.Join(';', j.Reasons.Select(r => r.Code).Distinct())),
                Text(string.Join(' ', j.Reasons.Select(r => r.Message))), Text(string.Join("; ", row.Alike)), Text(row.Report ?? ""),
            }).Append("\r\n");
        }

        return text.ToString();
    }

    private static string Number(double? value) => value is double v && double.IsFinite(v) ? v.ToString("R", CultureInfo.InvariantCulture) : "";

    // Spreadsheets take a cell that begins with one of these signs for a formula, and names come from strangers.
    private static string Text(string text)
    {
        if (text.Length > 0 && (text[0] is '=' or '+' or '-' or '@'))
            text = "'" + text;
        return text.AsSpan().IndexOfAny(",\"\r\n") < 0 ? text : "\"" + text.Replace("\"", "\"\"", StringComparison.Ordinal) + "\"";
    }
}
