using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Oscillator;

namespace StreakTrack.Core.Analysis;

/// <summary>What a series says: the fitted envelope and the quantities that follow from it.</summary>
/// <param name="Fit">The fit; its <see cref="EnvelopeFit.Converged"/> says whether its numbers may be used.</param>
/// <param name="Quantities">Physical quantities; null when there is no decay time to take them from.</param>
/// <param name="Findings">Remarks of the fit.</param>
public sealed record SeriesAnalysis(EnvelopeFit Fit, OscillatorQuantities? Quantities, IReadOnlyList<Finding> Findings);
