using StreakTrack.Core.Fitting;
using StreakTrack.Core.Studies;

namespace StreakTrack.Reporting.Figures;

/// <summary>A fitted envelope as the figures need it: the curve, and what each frame leaves over.</summary>
internal sealed record FittedCurve
{
    /// <summary>Points of the drawn curve; at the size of a figure more could not be seen.</summary>
    private const int CurvePoints = 300;

    /// <summary>Times of the curve's points, in s, increasing.</summary>
    public required IReadOnlyList<double> TimesSeconds { get; init; }

    /// <summary>Amplitudes of the curve, in mm; one for each time.</summary>
    public required IReadOnlyList<double> AmplitudesMm { get; init; }

    /// <summary>Standard uncertainty of the curve, in mm; one for each time, NaN where it is not known.</summary>
    public required IReadOnlyList<double> UncertaintiesMm { get; init; }

    /// <summary>Time of the switch, in s; null where the curve has none or it lies outside the series.</summary>
    public double? SwitchTimeSeconds { get; init; }

    /// <summary>The frames that went into the fit.</summary>
    public required IReadOnlyList<FitResidual> Residuals { get; init; }

    /// <summary>Root mean square of the residuals, in mm.</summary>
    public required double ResidualRmsMm { get; init; }

    /// <summary>The curve of a stepped sweep, at its points.</summary>
    public static FittedCurve From(SweepFit fit) => new()
    {
        TimesSeconds = fit.TimesSeconds,
        AmplitudesMm = fit.CurveMm,
        UncertaintiesMm = [.. fit.CurveMm.Select(_ => double.NaN)],
        Residuals =
        [
            .. Enumerable.Range(0, fit.Points).Select(i => new FitResidual(
                fit.Frames[i], fit.TimesSeconds[i], fit.AmplitudesMm[i] - fit.CurveMm[i], double.NaN, false)),
        ],
        ResidualRmsMm = fit.ResidualRmsMm,
    };

    /// <summary>The curve of a fit, over the window of the fit; null where there is no fit to use.</summary>
    public static FittedCurve? From(EnvelopeFit? fit)
    {
        if (fit is not { Converged: true } || !(fit.WindowEndSeconds > fit.WindowStartSeconds))
            return null;

        double start = fit.WindowStartSeconds;
        double end = fit.WindowEndSeconds;
        double? t0 = fit.Parameter(EnvelopeParameters.SwitchTime)?.Value is double t && t > start && t < end ? t : null;
        IEnumerable<double> even = Enumerable.Range(0, CurvePoints).Select(i => start + ((end - start) * i / (CurvePoints - 1)));

        // The curve has a corner at the switch, which would be cut off between two even points.
        double[] times = [.. even.Concat(t0 is double corner ? [corner] : []).Order()];
        return new FittedCurve
        {
            TimesSeconds = times,
            AmplitudesMm = [.. times.Select(fit.Curve)],
            UncertaintiesMm = [.. times.Select(fit.CurveUncertaintyMm)],
            SwitchTimeSeconds = t0,
            Residuals =
            [
                .. fit.Points.Where(p => p.IsUsed).Select(p => new FitResidual(
                    p.Frame, p.TimeSeconds, p.ResidualMm, p.ResidualMm / p.SigmaMm, p.Use == PointUse.Outlier)),
            ],
            ResidualRmsMm = fit.ResidualRmsMm,
        };
    }
}

/// <summary>What one frame leaves over.</summary>
/// <param name="Frame">Position of the frame in the clip.</param>
/// <param name="TimeSeconds">Time of the frame, in s.</param>
/// <param name="ResidualMm">Measured amplitude minus curve, in mm.</param>
/// <param name="Normalised">The residual divided by the frame's own standard uncertainty; NaN where that is not known.</param>
/// <param name="Outlier">Whether the fit calls the frame an outlier.</param>
internal sealed record FitResidual(int Frame, double TimeSeconds, double ResidualMm, double Normalised, bool Outlier);
