using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Streaks;

/// <summary>The laser's light along the band in one frame, with what was found in it. Places in px along the band; where exposures see arcs on a ruler
/// seen aslant, at places as far apart as the readings.</summary>
/// <param name="Reading">The frame's reading.</param>
/// <param name="Light">Laser light, ambient light taken off, one value each px; linear units, 1 = full scale. NaN where the band leaves the
/// picture.</param>
/// <param name="Model">The fitted brightness at the same places; empty where no fit converged.</param>
/// <param name="ThresholdFirstPx">Threshold end on the side of the smaller reading; NaN without a streak.</param>
/// <param name="ThresholdSecondPx">The other threshold end.</param>
/// <param name="ThresholdFirstLevel">Light at which the first end was taken.</param>
/// <param name="ThresholdSecondLevel">Light at which the second end was taken.</param>
/// <param name="FirstEndPx">Turning point on the side of the smaller reading; NaN where no fit converged.</param>
/// <param name="SecondEndPx">The other turning point.</param>
/// <param name="BandCorners">The four corners of the band in the displayed picture of this frame, in order around it.</param>
/// <param name="ShownEnds">The reading's turning points, carried to this frame where the ruler moves; empty without ends.</param>
public sealed record FrameProfile(
    Core.Series.StreakReading Reading, float[] Light, float[] Model, double ThresholdFirstPx, double ThresholdSecondPx,
    double ThresholdFirstLevel, double ThresholdSecondLevel, double FirstEndPx, double SecondEndPx,
    IReadOnlyList<PicturePoint> BandCorners, IReadOnlyList<PicturePoint> ShownEnds);
