using System.Globalization;
using System.Text;

namespace StreakTrack.Accuracy;

/// <summary>Writes the results as <c>docs/accuracy.md</c>.</summary>
internal static class AccuracyReport
{
    private const string Preface = """
        # Accuracy, measured

        Written by `dotnet run --project tests/StreakTrack.Accuracy -c Release`, which makes clips with known truth, runs the whole
        analysis on each with default settings (frequency and distance given), and compares. Some rules of the streak stage were changed
        after errors on these clips had shown a defect, each for a reason in the physics. The clips drawn at random then get seeds that
        nobody has looked at, so that they are a blind test.

        Columns: tau true and found in s, its relative error, its stated relative standard uncertainty, whether the stated 95 % interval
        holds the truth; frames usable of all; bias (mean) and scatter (standard deviation) of the amplitude minus the truth in mm, over
        usable frames whose true amplitude is above three spot sigmas; the normalised scatter, which is 1 where each frame's stated
        uncertainty is true; bias and scatter of the threshold estimate alone; findings beyond mere information.

        """;

    private const string GridText = """

        ## One thing varied at a time

        About a plain ring-down of 42 mm, 36.7 Hz, tau 2 s, 7 px/mm, 30 frames a second, exposure of a whole frame (1.2 periods), spot
        sigma 0.9 mm, dim room, middle of the longest streak at 0.05 of full scale.

        """;

    private const string ShortText = """

        ## Short exposures

        The same plain clip with exposures of a part of a period, 30 frames a second. Amplitude minus truth in mm over frames whose true
        amplitude is above three spot sigmas: without recovery, where the arc that a frame shows is taken for the streak (threshold
        estimate, all frames), and with it (frames used). The frequency is that of the arcs' advance, unfolded with the rough one given,
        beside the true one of the free oscillation.

        | exposure, periods | without: bias | scatter | frames used | with: bias | scatter | norm. | tau error | frequency | u | true |
        |---|---|---|---|---|---|---|---|---|---|---|
        """;

    private const string RegistrationText = """

        ## Following the ruler

        Clips of 2.5 s whose picture moves, four seeds each, at 4 px/mm (520 by 192 px) and 7 px/mm (960 by 400 px): error of the ruler's place in each frame against
        the picture's true displacement, about the clip's mean. Normalised: error over the frame's stated standard uncertainty, root mean square of both directions.

        | movement | px/mm | followed | along: rms, px | across: rms, px | worst frame, px | normalised | findings |
        |---|---|---|---|---|---|---|---|
        """;

    private const string Head =
        "| clip | model | tau true | tau found | error | stated u | holds | frames | bias | scatter | norm. | threshold bias | scatter "
        + "| findings |\n|---|---|---|---|---|---|---|---|---|---|---|---|---|---|\n";

    /// <summary>The page.</summary>
    public static string Write(IReadOnlyList<CaseResult> fixtures, IReadOnlyList<CaseResult> grid, IReadOnlyList<CaseResult> ordinary)
    {
        var text = new StringBuilder(Preface);
        if (fixtures.Count > 0)
        {
            text.Append("\n## Clips of an independent simulator\n\nThe clips under `fixtures/clips`; their README says what they are.\n\n");
            Table(text, fixtures);
        }

        if (grid.Count > 0)
        {
            text.Append(GridText).Append('\n');
            Table(text, grid);
        }

        CaseResult[] exposures = [.. grid.Where(r => r.Group == AccuracyGrid.Exposures && r.Refusal.Length == 0)];
        if (exposures.Length > 0)
            ShortExposures(text, exposures);

        if (ordinary.Count > 0)
        {
            text.Append("\n## Ordinary clips drawn at random\n\n").Append(Summary(ordinary)).Append("\n\n");
            Table(text, ordinary);
        }

        return text.ToString().ReplaceLineEndings("\n");
    }

    /// <summary>The section on following the ruler.</summary>
    public static string Registration(IReadOnlyList<(RegistrationCase Case, IReadOnlyList<RegistrationResult> Results)> measured)
    {
        var text = new StringBuilder(RegistrationText).Append('\n');
        foreach ((RegistrationCase of, IReadOnlyList<RegistrationResult> results) in measured)
        {
            RegistrationResult[] followed = [.. results.Where(r => r.Followed)];
            double[] along = [.. followed.SelectMany(r => r.AlongPx)], across = [.. followed.SelectMany(r => r.AcrossPx)];
            double[] normalised = [.. followed.SelectMany(r => r.AlongPx.Zip(r.UncertaintyPx, (e, u) => e / u).Skip(1)
                .Concat(r.AcrossPx.Zip(r.UncertaintyPx, (e, u) => e / u).Skip(1)))];
            string[] cells =
            [
                of.Name, N(of.PxPerMm, "0"), $"{followed.Length}/{results.Count}", N(Rms(along), "0.000"), N(Rms(across), "0.000"),
                N(along.Concat(across).Select(Math.Abs).DefaultIfEmpty(double.NaN).Max(), "0.00"), N(Rms(normalised), "0.00"),
                string.Join(", ", results.SelectMany(r => r.Findings).Distinct()),
            ];
            text.Append("| ").AppendJoin(" | ", cells).Append(" |\n");
        }

        return text.ToString().ReplaceLineEndings("\n");

        static double Rms(double[] values) => values.Length > 0 ? RegistrationResult.Rms(values) : double.NaN;
    }

    /// <summary>One line of results for the terminal.</summary>
    public static string Line(CaseResult r) => r.Refusal.Length > 0
        ? $"{r.Group} {r.Name}: refused, {r.Refusal}"
        : string.Create(CultureInfo.InvariantCulture,
            $"{r.Group} {r.Name}: tau {Signed(r.TauError)} (u {r.TauUncertaintyS / r.TrueTauS:0.00 %}), "
            + $"bias {r.BiasMm:0.000} mm, scatter {r.ScatterMm:0.000} mm, {r.Model}, {string.Join(' ', r.Findings)}");

    private static string Summary(IReadOnlyList<CaseResult> results)
    {
        CaseResult[] judged = [.. results.Where(r => r.IntervalHolds is not null)];
        if (judged.Length == 0)
            return "None of these clips gave an interval.";

        int holding = judged.Count(r => r.IntervalHolds == true);
        double mean = judged.Average(r => r.TauError), rms = Math.Sqrt(judged.Average(r => r.TauError * r.TauError));
        double pull = Math.Sqrt(judged.Average(r => Math.Pow((r.TauS - r.TrueTauS) / r.TauUncertaintyS, 2)));
        int without = results.Count - judged.Length;
        return string.Create(CultureInfo.InvariantCulture,
            $"{holding} of {judged.Length} stated 95 % intervals hold the true decay time ({without} clips gave none). Decay time: mean\n"
            + $"error {Signed(mean)}, root mean square {rms:0.00 %}; error over stated uncertainty {pull:0.00} root mean square.");
    }

    private static void ShortExposures(StringBuilder text, IReadOnlyList<CaseResult> results)
    {
        text.Append(ShortText).Append('\n');
        foreach (CaseResult r in results)
        {
            string[] cells =
            [
                r.Name, N(r.ArcBiasMm, "0.000"), N(r.ArcScatterMm, "0.000"), $"{r.UsableFrames}/{r.Frames}", N(r.BiasMm, "0.000"),
                N(r.ScatterMm, "0.000"), N(r.NormalisedScatter, "0.00"), Signed(r.TauError), N(r.FrequencyHz, "0.0000"),
                N(r.FrequencyUncertaintyHz, "0.0000"), N(r.TrueFrequencyHz, "0.0000"),
            ];
            text.Append("| ").AppendJoin(" | ", cells).Append(" |\n");
        }
    }

    private static void Table(StringBuilder text, IReadOnlyList<CaseResult> results)
    {
        text.Append(Head);
        foreach (CaseResult r in results)
        {
            string[] cells =
            [
                r.Group is "fixture" or "plain" or "ordinary" ? r.Name : $"{r.Group}: {r.Name}",
                r.Model,
                N(r.TrueTauS, "0.###"),
                N(r.TauS, "0.0000"),
                Signed(r.TauError),
                N(r.TauUncertaintyS / r.TrueTauS, "0.00 %"),
                r.IntervalHolds switch { true => "yes", false => "no", null => "" },
                $"{r.UsableFrames}/{r.Frames}",
                N(r.BiasMm, "0.000"),
                N(r.ScatterMm, "0.000"),
                N(r.NormalisedScatter, "0.00"),
                N(r.ThresholdBiasMm, "0.000"),
                N(r.ThresholdScatterMm, "0.000"),
                r.Refusal.Length > 0 ? $"refused: {r.Refusal}" : string.Join(", ", r.Findings),
            ];
            text.Append("| ").AppendJoin(" | ", cells).Append(" |\n");
        }
    }

    // A value that rounds to zero has no sign; the runtime writes both for it.
    private static string Signed(double share) =>
        double.IsFinite(share) ? Math.Round(share, 4).ToString("+0.00 %;-0.00 %;0.00 %", CultureInfo.InvariantCulture) : "";

    private static string N(double value, string format) =>
        double.IsFinite(value) ? value.ToString(format, CultureInfo.InvariantCulture) : "";
}
