using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Synthesis.Output;

namespace StreakTrack.Accuracy;

/// <summary>Runs the whole analysis on a clip with known truth and compares.</summary>
internal static class CaseRunner
{
    /// <summary>Renders a case into a folder of its own, which is removed again, and analyses it.</summary>
    public static CaseResult Run(AccuracyCase accuracyCase)
    {
        string folder = Directory.CreateTempSubdirectory("streaktrack-accuracy-").FullName;
        try
        {
            SimulatedClip clip = SimulatedClip.Write(accuracyCase.Scenario, folder);
            return Run(new TrueClip(
                accuracyCase.Group, accuracyCase.Name, clip.ClipPath, clip.Marks, clip.Truth.Oscillator.TauS,
                clip.Truth.Oscillator.FrequencyHz, accuracyCase.Scenario.Lever.DistanceMm,
                [.. clip.Truth.Frames.Select(f => f.AmplitudeMm)], accuracyCase.Scenario.Laser.SigmaAlongMm));
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>Analyses a clip and compares with its truth.</summary>
    public static CaseResult Run(TrueClip clip)
    {
        var blank = new CaseResult { Group = clip.Group, Name = clip.Name, TrueTauS = clip.TauS, Frames = clip.AmplitudesMm.Count };
        var options = new AnalysisOptions { FrequencyHz = clip.FrequencyHz, DistanceMm = clip.DistanceMm };
        ClipAnalysis analysis;
        try
        {
            analysis = ClipAnalyzer.Analyze(clip.ClipPath, clip.Marks, options, null, CancellationToken.None);
        }
        catch (UnusableInputException e)
        {
            return blank with { Refusal = e.Problem };
        }

        return Compared(blank, clip, analysis);
    }

    private static CaseResult Compared(CaseResult blank, TrueClip clip, ClipAnalysis analysis)
    {
        ResultRecord result = analysis.Record.Result;
        ParameterRecord? tau = result.Fit?.Parameters.GetValueOrDefault("tau_s");
        IReadOnlyList<double?>? interval = tau?.Interval95;

        AmplitudeSample[] compared = [.. analysis.Series.Where(
            s => s.IsUsable && s.Frame < clip.AmplitudesMm.Count && clip.AmplitudesMm[s.Frame] > 3 * clip.SpotSigmaMm)];
        double[] errors = [.. compared.Select(s => s.AmplitudeMm - clip.AmplitudesMm[s.Frame])];
        double[] normalised = [.. compared.Zip(errors, (s, e) => e / s.AmplitudeUncertaintyMm).Where(double.IsFinite)];
        double[] threshold = [.. compared.Select(s => s.ThresholdAmplitudeMm - clip.AmplitudesMm[s.Frame]).Where(double.IsFinite)];
        double[] arcs =
        [
            .. analysis.Series.Where(s => s.Frame < clip.AmplitudesMm.Count && clip.AmplitudesMm[s.Frame] > 3 * clip.SpotSigmaMm)
                .Select(s => s.ThresholdAmplitudeMm - clip.AmplitudesMm[s.Frame]).Where(double.IsFinite),
        ];
        return blank with
        {
            ArcBiasMm = Mean(arcs),
            ArcScatterMm = Deviation(arcs),
            FrequencyHz = result.Streak?.FrequencyHz?.Value ?? double.NaN,
            FrequencyUncertaintyHz = result.Streak?.FrequencyHz?.StandardUncertainty ?? double.NaN,
            TrueFrequencyHz = clip.FrequencyHz,
            Model = result.Fit?.Model ?? "none",
            TauS = tau?.Value ?? double.NaN,
            TauUncertaintyS = tau?.StandardUncertainty ?? double.NaN,
            IntervalHolds = interval is { Count: 2 }
                ? (interval[0] ?? double.NegativeInfinity) <= clip.TauS && clip.TauS <= (interval[1] ?? double.PositiveInfinity)
                : null,
            UsableFrames = analysis.Series.Count(s => s.IsUsable),
            ComparedFrames = compared.Length,
            BiasMm = Mean(errors),
            ScatterMm = Deviation(errors),
            LargestErrorMm = errors.Length > 0 ? errors.Max(Math.Abs) : double.NaN,
            NormalisedScatter = Deviation(normalised),
            ThresholdBiasMm = Mean(threshold),
            ThresholdScatterMm = Deviation(threshold),
            Findings = [.. result.Findings.Where(f => f.Severity != FindingSeverity.Info).Select(f => f.Code).Distinct()],
        };
    }

    private static double Mean(double[] values) => values.Length > 0 ? values.Average() : double.NaN;

    private static double Deviation(double[] values)
    {
        if (values.Length < 2)
            return double.NaN;

        double mean = values.Average();
        return Math.Sqrt(values.Sum(v => (v - mean) * (v - mean)) / (values.Length - 1));
    }
}
