using StreakTrack.Core.Fitting;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;

namespace StreakTrack.Core.Analysis;

/// <summary>The stages from the series on: fit, then physical quantities. The same for a series from a clip and for one from a file.</summary>
public static class SeriesAnalyzer
{
    /// <summary>Analyses a series.</summary>
    /// <param name="series">The series.</param>
    /// <param name="options">Model, window, switch time and frequency.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    public static SeriesAnalysis Analyze(AmplitudeSeries series, AnalysisOptions options, CancellationToken cancellationToken = default)
    {
        EnvelopeFit fit = EnvelopeFitter.Fit(EnvelopeData.FromSeries(series), new EnvelopeFitOptions
        {
            Model = options.Model,
            WindowStartSeconds = options.WindowStartS,
            WindowEndSeconds = options.WindowEndS,
            SwitchTimeSeconds = options.SwitchTimeS,
        }, cancellationToken);

        OscillatorQuantities? quantities = null;
        if (fit.Converged && fit.Parameter(EnvelopeParameters.Tau) is FitParameter { Value: > 0 } tau)
        {
            UncertainValue? frequency = options.FrequencyHz is double hz ? new UncertainValue(hz, options.FrequencyUncertaintyHz) : null;
            quantities = OscillatorQuantities.From(new UncertainValue(tau.Value, tau.StandardUncertainty), frequency);
        }

        return new SeriesAnalysis(fit, quantities, fit.Findings);
    }
}
