namespace StreakTrack.Imaging.Streaks;

/// <summary>What the threshold alone says of one frame while the clip is still being passed over; for the eye, never for a result.</summary>
/// <param name="Frame">Position of the frame in the clip, from 0.</param>
/// <param name="TimeSeconds">Presentation time, in s.</param>
/// <param name="HalfLengthPx">Half the distance of the threshold ends, in px of the displayed picture; NaN where no streak was seen.</param>
public readonly record struct RoughReading(int Frame, double TimeSeconds, double HalfLengthPx);
