using System.Globalization;
using ScottPlot;
using StreakTrack.Core.Records;
using StreakTrack.Core.References;
using StreakTrack.Reporting.Figures;
using StreakTrack.Reporting.Pages;

namespace StreakTrack.Reporting.References;

/// <summary>The figures of a hand-out: decay with its tolerance, the family of dampings, the resonance curves that belong to it.</summary>
internal static class ReferenceFigures
{
    private const int CurvePoints = 240;

    /// <summary>Half-power half-widths of the widest curve on either side of the resonance.</summary>
    private const double HalfWidthsShown = 5;

    /// <summary>The curves of an instrument with a single setting are shown between others of half and twice its damping.</summary>
    private static readonly (double Factor, string Name)[] Dampings = [(0.5, "half the damping"), (2, "twice the damping")];

    /// <summary>All figures, in the order of the page.</summary>
    public static IEnumerable<Figure> All(InstrumentReference reference)
    {
        yield return Decay(reference);
        if (reference.Runs.Count > 1)
            yield return Runs(reference);
        yield return Family(reference);
        yield return Resonance(reference);
    }

    private static Figure Decay(InstrumentReference reference)
    {
        double end = ReferenceDecay.DecayTimesShown * reference.Settings.Max(s => s.TauS.Value);
        double[] time = Grid(0, end);
        bool single = reference.Settings.Count == 1;
        Panel panel = new(single ? null : "time after the drive was cut / s", "amplitude over its first value", 380);
        // All bands before the lines: those of few runs are wide, and would hide the lines of other settings.
        foreach ((ReferenceSetting setting, int i) in reference.Settings.Select((s, i) => (s, i)))
        {
            panel.AddBand(time, Decays(time, setting.ToleranceTauS[0]), Decays(time, setting.ToleranceTauS[1]), FigureRole.Band,
                i == 0 ? "expected for a further run, 95 %" : null);
        }

        foreach ((ReferenceSetting setting, int i) in reference.Settings.Select((s, i) => (s, i)))
        {
            panel.AddLine(time, Decays(time, setting.TauS.Value), FigureRole.Model, legend: i == 0 ? "reference" : null);
            if (reference.Settings.Count > 1)
                panel.AddText(NameOf(reference, setting), setting.TauS.Value, ReferenceDecay.At(setting.TauS.Value, setting.TauS.Value), FigureRole.Ink, Alignment.LowerLeft);
        }

        panel.SetX(0, end);
        panel.SetY(0, 1.03);
        panel.ShowLegend();
        string description = $"Amplitude over its first value against time for {reference.Settings.Count} settings, each with the range expected for a further run.";
        string caption = "Line: exp(−t/τ) with the reference's decay time. Band: where the decay of a further run is expected with a probability of 95 %, its own "
            + "uncertainty not counted" + (single ? "; below as the difference from the reference." : ".")
            + " Put your own points in: amplitude divided by the amplitude at the moment of the switch.";
        return single
            ? FigureDrawing.Draw("decay", "Decay of the amplitude", description, caption, panel, Difference(reference.Settings[0], time))
            : FigureDrawing.Draw("decay", "Decay of the amplitude", description, caption, panel);
    }

    // On the scale of the decay itself the band of a good reference is hardly wider than the line.
    private static Panel Difference(ReferenceSetting setting, double[] time)
    {
        double[] middle = Decays(time, setting.TauS.Value);
        double[] low = [.. Decays(time, setting.ToleranceTauS[0]).Zip(middle, (a, m) => 100 * (a - m))];
        double[] high = [.. Decays(time, setting.ToleranceTauS[1]).Zip(middle, (a, m) => 100 * (a - m))];
        Panel panel = new("time after the drive was cut / s", "difference / %", 190);
        panel.AddBand(time, low, high, FigureRole.Band);
        panel.AddLevel(0, FigureRole.Model, 1.4f);
        double rim = 1.25 * Math.Max(high.Max(), -low.Min());
        panel.SetX(0, time[^1]);
        panel.SetY(-rim, rim);
        return panel;
    }

    private static Figure Runs(InstrumentReference reference)
    {
        ReferenceRun[] runs = [.. reference.Runs.OrderBy(r => r.Setting).ThenBy(r => r.TauS)];
        double[] place = [.. Enumerable.Range(1, runs.Length).Select(i => (double)i)];
        Panel panel = new("run, in the order of setting and decay time", "decay time τ / s", 300);
        int from = 0;
        foreach (ReferenceSetting setting in reference.Settings)
        {
            int count = runs.Count(r => r.Setting == setting.Setting);
            double[] ends = [from + 0.5, from + count + 0.5];
            panel.AddBand(ends, [setting.ToleranceTauS[0], setting.ToleranceTauS[0]], [setting.ToleranceTauS[1], setting.ToleranceTauS[1]], FigureRole.Band,
                from == 0 ? "expected for a further run, 95 %" : null);
            panel.AddLine(ends, [setting.TauS.Value, setting.TauS.Value], FigureRole.Model, legend: from == 0 ? "reference" : null);
            from += count;
        }

        double[] u = [.. runs.Select(r => r.StandardUncertaintyS)];
        double[] tau = [.. runs.Select(r => r.TauS)];
        panel.AddBars(place, [.. tau.Zip(u, (t, s) => t - s)], [.. tau.Zip(u, (t, s) => t + s)], FigureRole.Data);
        panel.AddPoints(place, tau, FigureRole.Data, PointKind.Dot, 6, "runs");
        double low = Math.Min(tau.Zip(u, (t, s) => t - s).Min(), reference.Settings.Min(s => s.ToleranceTauS[0]));
        double high = Math.Max(tau.Zip(u, (t, s) => t + s).Max(), reference.Settings.Max(s => s.ToleranceTauS[1]));
        panel.SetX(0.5, runs.Length + 0.5);
        panel.SetY(low - (0.1 * (high - low)), high + (0.1 * (high - low)));
        panel.ShowLegend();
        return FigureDrawing.Draw("runs", "The runs behind the reference", $"Decay times of {runs.Length} runs with the reference and its tolerance.",
            "Points: the runs with one standard uncertainty. Line: the reference. Band: its tolerance.", panel);
    }

    private static Figure Family(InstrumentReference reference)
    {
        Curve[] curves = Curves(reference);
        double end = ReferenceDecay.DecayTimesShown * reference.Settings.Max(s => s.TauS.Value);
        double[] time = Grid(0, end);
        const double least = 0.01;
        Panel panel = new("time after the drive was cut / s", "amplitude over its first value", 380, AxisKind.Log);
        foreach (Curve curve in curves)
        {
            panel.AddLine(time, Decays(time, curve.Tau), curve.Role);
            double at = Math.Min(0.75 * end, 3.2 * curve.Tau);
            panel.AddText(curve.Name, at, ReferenceDecay.At(at, curve.Tau), FigureRole.Ink, Alignment.LowerLeft);
        }

        panel.SetX(0, end);
        panel.SetY(least, 1.05);
        return FigureDrawing.Draw("family", "The family of dampings",
            $"Amplitude over its first value on a logarithmic scale against time: {curves.Length} straight lines.",
            reference.Settings.Count > 1
                ? "On a logarithmic scale a decay with a single decay time is a straight line, and its slope is the damping rate 1/τ of the setting."
                : "On a logarithmic scale a decay with a single decay time is a straight line, and its slope is the damping rate 1/τ. Beside the instrument "
                    + "(orange): what it would do with half and with twice its damping rate.", panel);
    }

    private static Figure Resonance(InstrumentReference reference)
    {
        Curve[] curves = Curves(reference);
        double? f0 = FrequencyOf(reference, reference.Settings[0]);
        double half = 1 / (2 * Math.PI * curves.Min(c => c.Tau));
        double reach = HalfWidthsShown * half;
        double[] x = f0 is double centre ? Grid(Math.Max(centre - reach, 0.02 * centre), centre + reach) : Grid(-reach, reach);
        double most = reference.Settings.Max(s => s.TauS.Value);
        double top = Response(f0, most, f0 ?? 0);
        Panel panel = new(f0 is null ? "drive frequency minus resonance frequency / Hz" : "drive frequency / Hz", "amplitude, same drive", 380);
        foreach (ReferenceSetting setting in reference.Settings)
        {
            double? f = FrequencyOf(reference, setting);
            double[] ends = [.. x.Select(at => Response(f, setting.ToleranceTauS[0], at) / top)];
            panel.AddBand(x, ends, [.. x.Select(at => Response(f, setting.ToleranceTauS[1], at) / top)], FigureRole.Band);
        }

        double highest = 0;
        foreach (Curve curve in curves)
        {
            double[] y = [.. x.Select(at => Response(curve.FrequencyHz, curve.Tau, at) / top)];
            panel.AddLine(x, y, curve.Role);
            highest = Math.Max(highest, y.Max());
            double shoulder = 1 / (2 * Math.PI * curve.Tau);
            panel.AddText(curve.Name, (curve.FrequencyHz ?? 0) + (0.25 * shoulder), 0.97 * y.Max(), FigureRole.Ink, Alignment.MiddleLeft);
        }

        panel.SetX(x[0], x[^1]);
        panel.SetY(0, 1.08 * highest);
        return FigureDrawing.Draw("resonance", "Resonance curves that belong to the decay",
            $"Steady amplitude against {(f0 is null ? "detuning" : "drive frequency")} for {curves.Length} dampings, the drive being the same.",
            "Steady amplitude under a drive of constant strength, in units of the largest amplitude of the reference. The full width of the squared curve at "
                + "half its height is 1/(πτ)." + (f0 is null ? " Without a frequency the limit of high Q is drawn." : ""), panel);
    }

    /// <summary>Amplitude under a drive of constant strength, up to a factor common to all dampings.</summary>
    private static double Response(double? f0, double tau, double x)
    {
        if (f0 is not double centre)
            return tau / Math.Sqrt(1 + Math.Pow(2 * Math.PI * x * tau, 2));
        double q = Math.PI * centre * tau, r = x / centre;
        return 1 / Math.Sqrt(Math.Pow((1 - r) * (1 + r), 2) + Math.Pow(r / q, 2));
    }

    private static Curve[] Curves(InstrumentReference reference)
    {
        Curve[] own = [.. reference.Settings.Select(s => new Curve(NameOf(reference, s), s.TauS.Value, FrequencyOf(reference, s), FigureRole.Model))];
        return own.Length > 1 ? own : [.. own, .. Dampings.Select(d => new Curve(d.Name, own[0].Tau / d.Factor, own[0].FrequencyHz, FigureRole.Second))];
    }

    /// <summary>Frequency of a setting, in Hz; that of the first where it has none of its own. Null for all where the first has none: the curves
    /// share an axis.</summary>
    private static double? FrequencyOf(InstrumentReference reference, ReferenceSetting setting) =>
        reference.Settings[0].FrequencyHz is QuantityRecord first ? (setting.FrequencyHz ?? first).Value : null;

    /// <summary>How a setting is called.</summary>
    public static string NameOf(InstrumentReference reference, ReferenceSetting setting)
    {
        if (setting.Setting is not double at)
            return reference.Name;
        string number = at.ToString("0.######", CultureInfo.InvariantCulture), unit = Wording.Column(reference.SettingName ?? "").Unit;
        return unit.Length > 0 ? $"{number} {unit}" : "setting " + number;
    }

    private static double[] Decays(double[] time, double tau) => [.. time.Select(t => ReferenceDecay.At(t, tau))];

    private static double[] Grid(double low, double high) => [.. Enumerable.Range(0, CurvePoints + 1).Select(i => low + ((high - low) * i / CurvePoints))];

    /// <summary>A damping that is drawn: its decay time, in s, its frequency, in Hz (null for none), and whether it is the instrument's or one beside it.</summary>
    private sealed record Curve(string Name, double Tau, double? FrequencyHz, FigureRole Role);
}
