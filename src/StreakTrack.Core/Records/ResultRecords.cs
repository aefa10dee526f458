using System.Security.Cryptography;
using System.Text;
using StreakTrack.Core.Analysis;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;

namespace StreakTrack.Core.Records;

/// <summary>Puts results of the stages into the form in which they stand in the record.</summary>
public static class ResultRecords
{
    /// <summary>The fit; null when it may not be used.</summary>
    public static FitRecord? FitOf(SeriesAnalysis analysis)
    {
        EnvelopeFit fit = analysis.Fit;
        return !fit.Converged ? null : new FitRecord
        {
            Model = fit.ModelName,
            Statement = fit.Statement,
            Parameters = analysis.Parameters.Zip(fit.Parameters).ToDictionary(p => p.First.Name, p => new ParameterRecord(
                p.First.Value, Finite(p.First.StandardUncertainty), [Finite(p.First.Lower95), Finite(p.First.Upper95)],
                Finite(p.Second.StandardUncertainty))),
            LengthOffsetUncertaintyMm = analysis.LengthOffsetUncertaintyMm,
            Stop = fit.Stop.ToString(),
            Converged = fit.Converged,
            Points = fit.PointCount,
            DegreesOfFreedom = fit.DegreesOfFreedom,
            ReducedChiSquare = Finite(fit.ReducedChiSquare),
            ResidualRmsMm = fit.ResidualRmsMm,
            WindowS = [fit.WindowStartSeconds, fit.WindowEndSeconds],
            Models = [.. fit.Rivals.Select(Of)],
        };
    }

    /// <summary>The physical quantities by key.</summary>
    public static IReadOnlyDictionary<string, QuantityRecord> OscillatorOf(SeriesAnalysis analysis) =>
        analysis.Quantities?.All.ToDictionary(q => q.Key, q => new QuantityRecord(q.Value.Value, Finite(q.Value.StandardUncertainty)))
        ?? [];

    /// <summary>The summary of a series.</summary>
    public static SeriesRecord Of(AmplitudeSeries series) => new()
    {
        Frames = series.Count,
        UsableFrames = series.UsableCount,
        Sha256 = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(SeriesCsv.Write(series)))),
    };

    /// <summary>The scale.</summary>
    public static ScaleRecord Of(RulerScale scale)
    {
        double middleMm = (scale.MinReadingMm + scale.MaxReadingMm) / 2;
        double quarterMm = (scale.MaxReadingMm - scale.MinReadingMm) / 4;
        UncertainValue length = scale.LengthMm(scale.PointAt(middleMm - quarterMm), scale.PointAt(middleMm + quarterMm));
        return new ScaleRecord
        {
            Model = NameOf(scale.Model),
            MmPerPx = scale.MillimetresPerPixelAt(scale.PointAt(middleMm)),
            ResidualRmsMm = scale.DegreesOfFreedom > 0 ? Math.Sqrt(scale.Residuals.Average(r => r.ResidualMm * r.ResidualMm)) : null,
            ResidualsMm = [.. scale.Residuals.Select(r => r.ResidualMm)],
            RelativeUncertainty = Finite(length.StandardUncertainty / length.Value),
        };
    }

    /// <summary>Findings in the order in which people should read them: the most severe first, then in the order of the stages.</summary>
    public static IReadOnlyList<Finding> Ordered(IEnumerable<Finding> findings) => [.. findings.Distinct().OrderByDescending(f => f.Severity)];

    private static ModelRecord Of(RivalModel rival) => new(
        rival.Model, rival.ParameterCount, rival.Aicc, rival.DeltaAicc, Finite(rival.TauSeconds), Finite(rival.TauUncertaintySeconds));

    private static string NameOf(RulerModel model) => System.Text.Json.JsonNamingPolicy.KebabCaseLower.ConvertName(model.ToString());

    private static double? Finite(double value) => double.IsFinite(value) ? value : null;
}
