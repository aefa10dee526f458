using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Series;
using StreakTrack.Core.Studies;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Analysis;

/// <summary>What a series says: the fitted envelope and the quantities that follow from it.</summary>
public sealed record SeriesAnalysis
{
    /// <summary>The points that were fitted: the series, or the means of its groups where it is very long.</summary>
    public required AmplitudeSeries FittedSeries { get; init; }

    /// <summary>The fit, its uncertainties from the scatter of the points alone; its <see cref="EnvelopeFit.Converged"/> says whether its
    /// numbers may be used.</summary>
    public required EnvelopeFit Fit { get; init; }

    /// <summary>The fit's parameters, in its order, with everything that the scatter can't show added to their uncertainties.</summary>
    public required IReadOnlyList<FitParameter> Parameters { get; init; }

    /// <summary>Standard uncertainty of an offset common to all lengths, in mm; 0 when none was stated.</summary>
    public double LengthOffsetUncertaintyMm { get; init; }

    /// <summary>The decay time under other choices of window, estimate and weighting; null when they were not tried.</summary>
    public RobustnessTable? Robustness { get; init; }

    /// <summary>The study of a drive that is stepped through resonance; null otherwise. <see cref="Fit"/> then holds nothing.</summary>
    public SteppedSweepStudy? Sweep { get; init; }

    /// <summary>What resampling in blocks says about the fit's uncertainties; null when it was not done.</summary>
    public BootstrapResult? Bootstrap { get; init; }

    /// <summary>Uncertainty budgets: of the decay time; of Q where the frequency is known; of the amplitude at the mirror where the distance
    /// is known. Empty when there is no decay time.</summary>
    public IReadOnlyList<UncertaintyBudget> Budgets { get; init; } = [];

    /// <summary>The same measurements by the Monte Carlo method, one for each of <see cref="Budgets"/>; empty when it was not asked
    /// for.</summary>
    public IReadOnlyList<MonteCarloResult> MonteCarlo { get; init; } = [];

    /// <summary>Physical quantities; null when there is no decay time to take them from.</summary>
    public OscillatorQuantities? Quantities { get; init; }

    /// <summary>Remarks of the fit.</summary>
    public required IReadOnlyList<Finding> Findings { get; init; }
}
