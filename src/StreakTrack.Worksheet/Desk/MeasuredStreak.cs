using StreakTrack.Core.Records;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Worksheet.Desk;

/// <summary>A measurement of the clip that is kept, so that changed marks, fits and thresholds need no decoding.</summary>
/// <param name="Pass">The study that passed over the clip.</param>
/// <param name="Study">The study of the present threshold and frequency; the same object where it was not changed.</param>
/// <param name="AlongMarks">The marks along which the band was laid.</param>
/// <param name="Options">The settings of the present study.</param>
internal sealed record MeasuredStreak(
    StreakStudy Pass, StreakStudy Study, IReadOnlyList<MarkRecord> AlongMarks, StreakOptions Options)
{
    /// <summary>The same with another threshold or frequency; the object itself where they are the present ones. Nothing is decoded.</summary>
    /// <remarks>Studies of other settings own nothing; disposing of <see cref="Pass"/> is enough.</remarks>
    public MeasuredStreak WithLaterOf(StreakOptions later, CancellationToken cancellationToken)
    {
        StreakOptions wanted = Options.WithLaterOf(later);
        return wanted == Options ? this : this with
        {
            Study = wanted == Pass.Options ? Pass : Pass.WithLaterOf(later, cancellationToken),
            Options = wanted,
        };
    }
}
