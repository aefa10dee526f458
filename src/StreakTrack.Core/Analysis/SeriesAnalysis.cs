using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Core.Analysis;

/// <summary>What a series says: the fitted envelope and the quantities that follow from it.</summary>
/// <param name="Fit">The fit, its uncertainties from the scatter of the points alone; its <see cref="EnvelopeFit.Converged"/> says whether
/// its numbers may be used.</param>
/// <param name="Parameters">The fit's parameters, in its order, with the common offset of all lengths added to their uncertainties.</param>
/// <param name="LengthOffsetUncertaintyMm">Standard uncertainty of that offset, in mm; 0 when none was stated.</param>
/// <param name="Robustness">The decay time under other choices of window, estimate and weighting; null when there is no fit.</param>
/// <param name="Budgets">Uncertainty budgets of the decay time and, where the frequency is known, of Q; empty when there is no decay time.</param>
/// <param name="Quantities">Physical quantities; null when there is no decay time to take them from.</param>
/// <param name="Findings">Remarks of the fit.</param>
public sealed record SeriesAnalysis(
    EnvelopeFit Fit, IReadOnlyList<FitParameter> Parameters, double LengthOffsetUncertaintyMm, RobustnessTable? Robustness,
    IReadOnlyList<UncertaintyBudget> Budgets, OscillatorQuantities? Quantities, IReadOnlyList<Finding> Findings);
