using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Measures the streak's turning points in every frame of a clip.</summary>
/// <remarks>
/// The clip is decoded once, and each frame is collapsed to the laser's light along the streak. What all frames have in common (ambient
/// light, spot width, exposure, the ruler's reflectance) is estimated from these profiles together; then each is fitted.
/// </remarks>
public static class StreakMeasurer
{
    /// <summary>Measures a clip.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="scale">The ruler's scale in the clip's first frame; where the ruler moves in the picture, it is followed from
    /// there, and all
    /// places in the result belong to the first frame.</param>
    /// <param name="options">Settings.</param>
    /// <param name="progress">Told of the frames measured; may be null.</param>
    /// <param name="tickScale">The better scale that the ruler's picture gives, asked for where perspective matters for more than the readings; null
    /// for <paramref name="scale"/>.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="Core.UnusableInputException">The clip cannot be decoded, or has no streak.</exception>
    public static StreakMeasurement Measure(
        ClipFacts facts, RulerScale scale, StreakOptions options, IProgress<AnalysisProgress>? progress,
        Func<RulerPicture, RulerScale>? tickScale, CancellationToken cancellationToken)
    {
        using StreakStudy study = StreakStudy.Of(facts, scale, options, progress, rough: null, tickScale, cancellationToken);
        return study.Measurement;
    }
}
