using System.Globalization;
using System.Text;

namespace StreakTrack.Accuracy;

/// <summary>Writes the results as <c>docs/accuracy.md</c>.</summary>
internal static class AccuracyReport
{
    private const string Legend = """
        Columns: tau true and found in s, its relative error, its stated relative standard uncertainty, whether the stated 95 % interval
        holds the truth; frames usable of all; bias (mean) and scatter (standard deviation) of the amplitude minus the truth in mm, over usable
        frames whose true amplitude is above three spot sigmas; the normalised scatter, which is 1 where each frame's stated uncertainty is
        true; the same bias and scatter of the threshold estimate alone; findings beyond mere information.
        """;

    /// <summary>The page.</summary>
    public static string Write(
        IReadOnlyList<CaseResult> fixtures, IReadOnlyList<CaseResult> grid, IReadOnlyList<CaseResult> ordinary)
    {
        var text = new StringBuilder("""
            # Accuracy, measured

            Written by `dotnet run --project tests/StreakTrack.Accuracy -c Release`, which makes clips with known truth, runs the whole analysis on
            each with default settings (frequency and distance given), and compares. Nothing in the program was chosen by these numbers.


            """);
        text.Append(Legend.ReplaceLineEndings("\n")).Append("\n\n");
        if (fixtures.Count > 0)
        {
            text.Append("## Clips of an independent simulator\n\nThe clips under `fixtures/clips`; their README says what they are.\n\n");
            Table(text, fixtures);
        }

        if (grid.Count > 0)
        {
            text.Append(CultureInfo.InvariantCulture, $"\n## One thing varied at a time\n\n");
            text.Append("About a plain ring-down of 42 mm, 36.7 Hz, tau 2 s, 7 px/mm, 30 frames a second, exposure of a whole frame (1.2 periods), spot\n");
            text.Append(CultureInfo.InvariantCulture, $"sigma 0.9 mm, dim room.\n\n");
            Table(text, grid);
        }

        if (ordinary.Count > 0)
        {
            text.Append(CultureInfo.InvariantCulture, $"\n## Ordinary clips drawn at random\n\n{Summary(ordinary)}\n\n");
            Table(text, ordinary);
        }

        return text.ToString();
    }

    /// <summary>One line of results for the terminal.</summary>
    public static string Line(CaseResult r) => r.Refusal.Length > 0
        ? $"{r.Group} {r.Name}: refused, {r.Refusal}"
        : string.Create(CultureInfo.InvariantCulture,
            $"{r.Group} {r.Name}: tau {r.TauError:+0.00 %;-0.00 %} (u {r.TauUncertaintyS / r.TrueTauS:0.00 %}), "
            + $"bias {r.BiasMm:0.000} mm, scatter {r.ScatterMm:0.000} mm, {r.Model}, {string.Join(' ', r.Findings)}");

    private static string Summary(IReadOnlyList<CaseResult> results)
    {
        CaseResult[] judged = [.. results.Where(r => r.IntervalHolds is not null)];
        int holding = judged.Count(r => r.IntervalHolds == true);
        double[] errors = [.. judged.Select(r => r.TauError)], pulls = [.. judged.Select(r => r.TauError * r.TrueTauS / r.TauUncertaintyS)];
        double rms = Math.Sqrt(errors.Select(e => e * e).DefaultIfEmpty(double.NaN).Average());
        double pull = Math.Sqrt(pulls.Select(e => e * e).DefaultIfEmpty(double.NaN).Average());
        return string.Create(CultureInfo.InvariantCulture, $"""
            {holding} of {judged.Length} stated 95 % intervals hold the true decay time ({results.Count - judged.Length} clips gave none). Decay
            time: mean error {errors.DefaultIfEmpty(double.NaN).Average():+0.00 %;-0.00 %}, root mean square {rms:0.00 %}; error over stated uncertainty {pull:0.00} root mean square (1 is
            right).
            """).ReplaceLineEndings("\n");
    }

    private static void Table(StringBuilder text, IReadOnlyList<CaseResult> results)
    {
        text.Append("| clip | model | tau true | tau found | error | stated u | holds | frames | bias | scatter | norm. | threshold bias | scatter | findings |\n");
        text.Append("|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n");
        foreach (CaseResult r in results)
        {
            string name = r.Group is "fixture" or "plain" or "ordinary" ? r.Name : $"{r.Group}: {r.Name}";
            if (r.Refusal.Length > 0)
            {
                text.Append(CultureInfo.InvariantCulture, $"| {name} | none | {r.TrueTauS:0.###} | | | | | | | | | | | refused: {r.Refusal} |\n");
                continue;
            }

            string holds = r.IntervalHolds switch { true => "yes", false => "no", null => "" };
            text.Append(CultureInfo.InvariantCulture, $"| {name} | {r.Model} | {r.TrueTauS:0.###} | {N(r.TauS, "0.0000")} | ")
                .Append(CultureInfo.InvariantCulture, $"{N(r.TauError, "+0.00 %;-0.00 %")} | {N(r.TauUncertaintyS / r.TrueTauS, "0.00 %")} | {holds} | ")
                .Append(CultureInfo.InvariantCulture, $"{r.UsableFrames}/{r.Frames} | {N(r.BiasMm, "0.000")} | {N(r.ScatterMm, "0.000")} | ")
                .Append(CultureInfo.InvariantCulture, $"{N(r.NormalisedScatter, "0.00")} | {N(r.ThresholdBiasMm, "0.000")} | ")
                .Append(CultureInfo.InvariantCulture, $"{N(r.ThresholdScatterMm, "0.000")} | {string.Join(", ", r.Findings)} |\n");
        }
    }

    private static string N(double value, string format) => double.IsFinite(value) ? value.ToString(format, CultureInfo.InvariantCulture) : "";
}
