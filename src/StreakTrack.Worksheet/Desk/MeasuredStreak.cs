using StreakTrack.Core.Records;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Worksheet.Desk;

/// <summary>A measurement of the clip that is kept, so that changed marks, fits and thresholds need no decoding.</summary>
/// <param name="Pass">The study that passed over the clip.</param>
/// <param name="PassThreshold">The threshold it was made with.</param>
/// <param name="Study">The study of the present threshold; the same object where it was not changed.</param>
/// <param name="AlongMarks">The marks along which the band was laid.</param>
/// <param name="Options">The settings of the present study.</param>
internal sealed record MeasuredStreak(
    StreakStudy Pass, double PassThreshold, StreakStudy Study, IReadOnlyList<MarkRecord> AlongMarks, StreakOptions Options)
{
    /// <summary>The same with another threshold; the object itself where that is the present one. Nothing is decoded.</summary>
    /// <remarks>Studies of other thresholds own nothing; disposing of <see cref="Pass"/> is enough.</remarks>
    public MeasuredStreak WithThreshold(double fraction, CancellationToken cancellationToken) => fraction == Options.ThresholdFraction
        ? this
        : this with
        {
            Study = fraction == PassThreshold ? Pass : Pass.WithThreshold(fraction, cancellationToken),
            Options = Options with { ThresholdFraction = fraction },
        };
}
