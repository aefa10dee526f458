using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Tables;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Studies;

/// <summary>Finds resonance frequency and quality factor from steady amplitudes against the drive's frequency.</summary>
public static class ResonanceStudies
{
    /// <summary>Points within the width at half power that a trustworthy peak needs.</summary>
    private const int EnoughAcrossPeak = 4;

    /// <summary>Points from which the normal approximation of the runs test can be trusted.</summary>
    private const int EnoughForRuns = 12;

    /// <summary>Below this probability a pattern or a misfit is no accident.</summary>
    private const double SuspectProbability = 0.01;

    /// <summary>
    /// Reads the points of a table with the columns <c>frequency_hz</c>, a response column (<c>amplitude_mm, amplitude_mrad,
    /// amplitude</c> or
    /// <c>power</c>), and, where known, its standard uncertainty (<c>amplitude_u_mm, amplitude_u_mrad, amplitude_u</c> or
    /// <c>power_u</c>).
    /// </summary>
    /// <param name="table">The table.</param>
    /// <param name="options">Receives the options that suit the table: the response's unit, and the power shape for a power
    /// column.</param>
    /// <exception cref="UnusableInputException">A column is missing or a cell is no number; the message names the line.</exception>
    public static IReadOnlyList<ResonancePoint> PointsFrom(CsvTable table, out ResonanceOptions options)
    {
        int frequency = table.Require("frequency_hz", "the drive frequency in Hz");
        (string Response, string Uncertainty, string Unit, ResponseModel Model)[] known =
        [
            ("amplitude_mm", "amplitude_u_mm", "mm", ResponseModel.Exact), ("amplitude_mrad", "amplitude_u_mrad", "mrad", ResponseModel.Exact),
            ("amplitude", "amplitude_u", "", ResponseModel.Exact), ("power", "power_u", "", ResponseModel.PowerLorentzian),
        ];
        int found = Array.FindIndex(known, k => table.IndexOf(k.Response) >= 0);
        var (responseName, uncertaintyName, unit, model) = known[Math.Max(found, 0)];
        int response = table.Require(responseName, "the steady amplitude");
        int uncertainty = table.IndexOf(uncertaintyName);
        options = new ResonanceOptions { Response = model, ResponseUnit = unit };
        return
        [
            .. Enumerable.Range(0, table.RowCount).Select(row => new ResonancePoint(
                table.RequiredNumber(row, frequency), table.RequiredNumber(row, response), table.Uncertainty(row, uncertainty))),
        ];
    }

    /// <summary>Runs the study.</summary>
    /// <param name="points">The points, in any order; more than parameters, at three or more frequencies.</param>
    /// <param name="options">Settings; null for the defaults.</param>
    /// <param name="subject">What messages call the data.</param>
    /// <param name="cancellation">Ends the work.</param>
    /// <exception cref="UnusableInputException">
    /// Too few points, numbers that are not finite, uncertainties for some points only, or no resonance in them.
    /// </exception>
    public static ResonanceStudy Run(
        IReadOnlyList<ResonancePoint> points, ResonanceOptions? options = null, string subject = "the points",
        CancellationToken cancellation = default)
    {
        options ??= new ResonanceOptions();
        ResonancePoint[] sorted = [.. points.OrderBy(p => p.FrequencyHz)];
        var curve = new ResonanceCurve(options.Response, options.Background, sorted);
        bool stated = Check(sorted, curve.ParameterCount, subject);
        ResonanceFit fit = curve.Fit(stated, options.Scaling, cancellation) ?? throw new UnusableInputException(subject,
            "no resonance curve follows the points", "Plot them: they must rise to a peak and fall again.");

        ResponseModel? other = options.Response switch
        {
            ResponseModel.Exact => ResponseModel.Lorentzian,
            ResponseModel.Lorentzian => ResponseModel.Exact,
            _ => null,
        };
        ResonanceFit? otherFit = other is ResponseModel model
            ? new ResonanceCurve(model, options.Background, sorted).Fit(stated, options.Scaling, cancellation) : null;
        QComparison? comparison = options.TauSeconds is UncertainValue tau ? Compare(fit, tau) : null;
        string statement = $"Resonance at {Notation.Concise(fit.F0Hz, "Hz")} with a quality factor of {Notation.Concise(fit.QualityFactor)}; "
            + $"the power curve is {Notation.Concise(fit.LinewidthPowerHz, "Hz")} wide at half its maximum.";
        return new ResonanceStudy(sorted, fit, otherFit, statement, comparison,
            [.. Doubts(sorted, fit, comparison, options).OrderByDescending(f => f.Severity)]);
    }

    private static bool Check(ResonancePoint[] points, int parameters, string subject)
    {
        int stated = 0;
        for (int i = 0; i < points.Length; i++)
        {
            ResonancePoint p = points[i];
            if (!(p.FrequencyHz > 0 && Magnitude.IsUsable(p.FrequencyHz)) || !Magnitude.IsUsable(p.Response))
            {
                throw new UnusableInputException($"{subject}, the point at {Notation.Number(p.FrequencyHz, 6)} Hz",
                    "the frequency is not positive, or the response is missing or out of all range", "Correct the point or leave it out.");
            }

            if (p.ResponseUncertainty <= 0 || !(double.IsNaN(p.ResponseUncertainty) || Magnitude.IsUsable(p.ResponseUncertainty)))
            {
                throw new UnusableInputException($"{subject}, the point at {Notation.Number(p.FrequencyHz, 6)} Hz",
                    "the standard uncertainty is not positive or out of all range", "Correct it or leave it out.");
            }

            stated += double.IsNaN(p.ResponseUncertainty) ? 0 : 1;
        }

        if (points.Length <= parameters || points.Select(p => p.FrequencyHz).Distinct().Count() < parameters)
        {
            throw new UnusableInputException(subject,
                $"a resonance curve with {parameters} parameters needs at least {parameters + 1} points at {parameters} different frequencies, "
                + $"and there are {points.Length}", "Measure at more drive frequencies.");
        }

        if (stated != 0 && stated != points.Length)
        {
            throw new UnusableInputException(subject, $"only {stated} of {points.Length} points have an uncertainty",
                "State one for every point or for none.");
        }

        return stated > 0;
    }

    private static QComparison Compare(ResonanceFit fit, UncertainValue tau)
    {
        UncertainValue decay = OscillatorQuantities.From(tau, fit.F0Hz).QualityFactor!.Value;
        double difference = fit.QualityFactor.Value - decay.Value;
        double u = Math.Sqrt((fit.QualityFactor.StandardUncertainty * fit.QualityFactor.StandardUncertainty)
            + (decay.StandardUncertainty * decay.StandardUncertainty));
        return new QComparison(fit.QualityFactor, decay, difference / (2 * u));
    }

    private static IEnumerable<Finding> Doubts(
        ResonancePoint[] points, ResonanceFit fit, QComparison? comparison, ResonanceOptions options)
    {
        double f0 = double.IsNaN(fit.PeakFrequencyHz.Value) ? fit.F0Hz.Value : fit.PeakFrequencyHz.Value;
        double half = fit.LinewidthPowerHz.Value / 2;
        foreach (Finding doubt in SamplingDoubts([.. points.Select(p => p.FrequencyHz)], f0, half))
            yield return doubt;

        if (fit.ChiSquareProbability < SuspectProbability)
        {
            yield return FindingKinds.ScatterExceedsUncertainty.With(
                $"The points scatter {Notation.Number(Math.Sqrt(fit.ChiSquare / fit.DegreesOfFreedom), 2)} times as far about the curve as "
                + "their stated uncertainties allow.");
        }

        double pattern = RunsProbability(fit.Residuals);
        if (pattern < SuspectProbability)
        {
            yield return FindingKinds.ResponseShape.With(
                "Neighbouring points lie on the same side of the fitted curve more often than chance allows (runs test, probability "
                + $"{Notation.Number(pattern, 2)}); the stated uncertainties of f0 and Q are then too small.");
        }

        if (comparison is { Agree: false })
        {
            yield return FindingKinds.QualityFactorsDisagree.With(
                $"Q is {Notation.Concise(comparison.FromWidth)} from the width and {Notation.Concise(comparison.FromDecay)} from the decay; "
                + $"the difference is {Notation.Number(Math.Abs(comparison.NormalizedError), 2)} times its expanded uncertainty.");
        }

        if (options.Response == ResponseModel.Lorentzian && fit.QualityFactor.Value < 20)
        {
            yield return FindingKinds.ResponseShape.With(FindingSeverity.Info,
                $"At Q = {Notation.Number(fit.QualityFactor.Value, 2)} the Lorentzian limit is only approximate; the exact response is not.");
        }
    }

    /// <summary>Whether the drive frequencies suffice for the peak.</summary>
    /// <param name="frequenciesHz">The frequencies in order, in Hz.</param>
    /// <param name="f0">The peak's place, in Hz.</param>
    /// <param name="half">Half its width at half power, in Hz.</param>
    internal static IEnumerable<Finding> SamplingDoubts(IReadOnlyList<double> frequenciesHz, double f0, double half)
    {
        double first = frequenciesHz[0], last = frequenciesHz[^1];
        string range = $"{Notation.Number(first, 6)} to {Notation.Number(last, 6)} Hz";
        if (!(f0 > first && f0 < last))
        {
            yield return FindingKinds.PeakAtEdge.With(FindingSeverity.Error,
                $"The fitted peak at {Notation.Number(f0, 6)} Hz lies outside the drive frequencies, {range}: it is extrapolated.");
        }
        else if (!frequenciesHz.Any(f => f < f0 - half) || !frequenciesHz.Any(f => f > f0 + half))
        {
            yield return FindingKinds.PeakAtEdge.With(
                $"The drive frequencies, {range}, do not reach beyond the half-power points of the peak at {Notation.Number(f0, 6)} Hz on both "
                + "sides, so the width rests on the assumed shape.");
        }

        int across = frequenciesHz.Count(f => Math.Abs(f - f0) <= half);
        if (across < EnoughAcrossPeak)
        {
            yield return FindingKinds.FewPointsAcrossPeak.With(
                $"{across} of {frequenciesHz.Count} points lie within the half-power width of {Notation.Number(2 * half, 2)} Hz around the peak.");
        }
    }

    /// <summary>Probability of so few runs of one sign; 1 for too many, or for too few points to tell.</summary>
    private static double RunsProbability(IReadOnlyList<double> residuals)
    {
        if (residuals.Count < EnoughForRuns)
            return 1;
        ResidualAnalysis analysis = ResidualAnalysis.Of([.. residuals]);
        return analysis.RunsZ < 0 ? analysis.RunsProbability : 1;
    }
}
