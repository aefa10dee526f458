using System.Security.Cryptography;
using System.Text;
using StreakTrack.Core.Analysis;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Core.Studies;
using StreakTrack.Core.Uncertainty;

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
            Formula = fit.Model?.Formula,
            Statement = fit.Statement,
            Parameters = analysis.Parameters.Zip(fit.Parameters).ToDictionary(p => p.First.Name, p => Of(p.First, p.Second)),
            LengthOffsetUncertaintyMm = analysis.LengthOffsetUncertaintyMm,
            Stop = fit.Stop.ToString(),
            Converged = fit.Converged,
            Points = fit.PointCount,
            DegreesOfFreedom = fit.DegreesOfFreedom,
            EffectiveDegreesOfFreedom = Finite(fit.EffectiveDegreesOfFreedom),
            ReducedChiSquare = Finite(fit.ReducedChiSquare),
            ReducedChiSquareRange95 = double.IsFinite(fit.ReducedChiSquareRange95.High)
                ? [fit.ReducedChiSquareRange95.Low, fit.ReducedChiSquareRange95.High] : null,
            CommonScatterMm = Finite(fit.CommonScatterMm),
            Loss = fit.RobustLoss ? "robust" : "least-squares",
            NoiseCorrelation = fit.NoiseCorrelation,
            Residuals = fit.Residuals is ResidualAnalysis r
                ? new ResidualRecord(
                    r.RunsZ, r.RunsProbability, r.DurbinWatson, r.Lag1Correlation, r.LjungBox, r.LjungBoxLags, r.LjungBoxProbability)
                : null,
            FlaggedPoints =
            [
                .. fit.Points.Where(p => p.Use == PointUse.Outlier)
                    .Select(p => new FlaggedPointRecord(p.Frame, p.TimeSeconds, p.AmplitudeMm, p.ResidualMm, p.Weight)),
            ],
            LeftOut = new LeftOutRecord(
                fit.Points.Count(p => p.Use == PointUse.Unusable), fit.Points.Count(p => p.Use == PointUse.OutsideWindow),
                [.. fit.Points.Where(p => p.Use == PointUse.Transition).Select(p => p.Frame)]),
            Bootstrap = analysis.Bootstrap is BootstrapResult bootstrap ? Of(bootstrap) : null,
            ResidualRmsMm = fit.ResidualRmsMm,
            WindowS = [fit.WindowStartSeconds, fit.WindowEndSeconds],
            Models = [.. fit.Rivals.Select(Of)],
        };
    }

    /// <summary>The sweep; null when the drive was not stepped.</summary>
    public static SweepRecord? SweepOf(SeriesAnalysis analysis) => analysis.Sweep is not { } study ? null : new SweepRecord
    {
        Statement = study.Statement,
        Response = Kebab(study.Fit.Response.ToString()),
        PhaseJumps = study.Fit.PhaseJumps,
        Parameters = Of(study.Fit.Parameters),
        OtherResponse = study.OtherFit is null ? new Dictionary<string, QuantityWithInterval>() : Of(study.OtherFit.Parameters),
        OtherDeltaAicc = study.OtherFit is null ? null : Finite(study.OtherFit.Aicc - study.Fit.Aicc),
        Points = study.Fit.Points,
        DegreesOfFreedom = study.Fit.DegreesOfFreedom,
        ResidualRmsMm = study.Fit.ResidualRmsMm,
        NoiseCorrelation = study.Fit.NoiseCorrelation,
        Plateaus =
        [
            .. study.Plateaus.Select(p => new PlateauRecord(
                p.FrequencyHz, p.StartSeconds, Finite(p.StartUncertaintySeconds), p.EndSeconds, p.Points, Finite(p.AmplitudeMm),
                Finite(p.AmplitudeUncertaintyMm), Finite(p.MeanMm), p.TransientMm, p.IsSettled)),
        ],
    };

    private static Dictionary<string, QuantityWithInterval> Of(IReadOnlyList<StudyParameter> parameters) => parameters.ToDictionary(
        p => p.Name, p => new QuantityWithInterval(
            p.Value.Value, Finite(p.Value.StandardUncertainty), [Finite(p.Profile95.Low), Finite(p.Profile95.High)]));

    /// <summary>The rows of the robustness table; empty when it was not made.</summary>
    public static IReadOnlyList<RobustnessRecord> RobustnessOf(SeriesAnalysis analysis) => analysis.Robustness is not { } table ? [] :
    [
        .. table.Rows.Select(row => new RobustnessRecord(
            Kebab(row.Group.ToString()), row.Label, Finite(row.Setting), Finite(row.TauSeconds), Finite(row.UncertaintySeconds),
            Finite(row.DifferenceSeconds), Finite(row.DifferenceRatio), row.PointCount)),
    ];

    /// <summary>The uncertainty budgets, each with its check by the Monte Carlo method where that was made.</summary>
    public static IReadOnlyList<BudgetRecord> BudgetsOf(SeriesAnalysis analysis) =>
        [.. analysis.Budgets.Select((budget, i) => Of(budget, i < analysis.MonteCarlo.Count ? analysis.MonteCarlo[i] : null))];

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

    /// <summary>The marks.</summary>
    /// <param name="marks">The marks, in the order given.</param>
    public static IReadOnlyList<MarkRecord> Of(IEnumerable<RulerMark> marks) =>
        [.. marks.Select(m => new MarkRecord(m.Point.UPx, m.Point.VPx, m.ReadingMm))];

    /// <summary>The scale.</summary>
    /// <param name="scale">The scale, from the marks or from ticks that they led to.</param>
    /// <param name="marks">The marks as given.</param>
    public static ScaleRecord Of(RulerScale scale, IReadOnlyList<RulerMark> marks)
    {
        double[] residualsMm = [.. marks.Select(m => scale.ReadingMmAt(m.Point) - m.ReadingMm)];
        double middleMm = scale.MiddleReadingMm;
        double quarterMm = (scale.MaxReadingMm - scale.MinReadingMm) / 4;
        UncertainValue length = scale.LengthMm(scale.PointAt(middleMm - quarterMm), scale.PointAt(middleMm + quarterMm));
        return new ScaleRecord
        {
            Model = Kebab(scale.Model.ToString()),
            MmPerPx = scale.MiddleMillimetresPerPixel,
            ResidualRmsMm = scale.DegreesOfFreedom > 0 ? Math.Sqrt(residualsMm.Average(r => r * r)) : null,
            ResidualsMm = residualsMm,
            RelativeUncertainty = Finite(length.StandardUncertainty / length.Value),
        };
    }

    /// <summary>Findings in the order in which people should read them: the most severe first, then in the order of the stages.</summary>
    public static IReadOnlyList<Finding> Ordered(IEnumerable<Finding> findings) => [.. findings.Distinct().OrderByDescending(f => f.Severity)];

    private static ParameterRecord Of(FitParameter parameter, FitParameter bare) => new(
        parameter.Value, Finite(parameter.StandardUncertainty), [Finite(parameter.Lower95), Finite(parameter.Upper95)],
        Finite(bare.StandardUncertainty))
    {
        IndependentUncertainty = Finite(bare.IndependentStandardUncertainty),
        OffsetUncertainty = Finite(parameter.OffsetUncertainty),
        SwitchTimeUncertainty = Finite(parameter.SwitchTimeUncertainty),
        ModelUncertainty = Finite(parameter.ModelUncertainty),
        Held = parameter.IsHeld,
        AtBound = parameter.IsAtBound,
    };

    private static BootstrapRecord Of(BootstrapResult bootstrap) => new(
        bootstrap.Replicates, bootstrap.Failures, bootstrap.BlockLength, bootstrap.Seed,
        Enumerable.Range(0, bootstrap.Names.Count).ToDictionary(j => bootstrap.Names[j], j => new BootstrapParameterRecord(
            Finite(bootstrap.StandardUncertainties[j]), [Finite(bootstrap.Lower95[j]), Finite(bootstrap.Upper95[j])])));

    private static BudgetRecord Of(UncertaintyBudget budget, MonteCarloResult? trials) => new()
    {
        Quantity = budget.Quantity,
        Unit = budget.Unit,
        Estimate = budget.Estimate,
        CombinedStandardUncertainty = budget.CombinedStandardUncertainty,
        EffectiveDegreesOfFreedom = Finite(budget.EffectiveDegreesOfFreedom),
        CoverageProbability = budget.CoverageProbability,
        CoverageFactor = budget.CoverageFactor,
        ExpandedUncertainty = budget.ExpandedUncertainty,
        Inputs =
        [
            .. budget.Components.Select(c => new BudgetInputRecord(
                c.Input.Name, c.Input.Unit, c.Input.Estimate, c.Input.StandardUncertainty, c.Input.Evaluation.ToString(),
                Kebab(c.Input.Distribution.ToString()), Finite(c.Input.DegreesOfFreedom), c.Sensitivity, c.Contribution, c.Share,
                c.Input.Basis)),
        ],
        MonteCarlo = trials is null ? null : new MonteCarloRecord(
            trials.Trials, trials.Seed, trials.Settled, trials.Estimate, trials.StandardUncertainty,
            [trials.SymmetricInterval.Low, trials.SymmetricInterval.High], [trials.ShortestInterval.Low, trials.ShortestInterval.High],
            trials.Validate(budget).Confirmed),
    };

    private static ModelRecord Of(RivalModel rival) => new(
        rival.Model, rival.Formula, rival.ParameterCount, rival.Aicc, rival.DeltaAicc, Finite(rival.TauSeconds), Finite(rival.TauUncertaintySeconds));

    private static string Kebab(string name) => System.Text.Json.JsonNamingPolicy.KebabCaseLower.ConvertName(name);

    private static double? Finite(double value) => double.IsFinite(value) ? value : null;
}
