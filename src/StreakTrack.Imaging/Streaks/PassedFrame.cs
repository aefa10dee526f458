using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>What the pass over the clip notes of a frame beside its profile.</summary>
/// <param name="Index">Position in the clip, from 0.</param>
/// <param name="TimeSeconds">Presentation time, in s.</param>
/// <param name="ClippedSamples">Samples of the streak that were clipped.</param>
/// <param name="Gain">Brightness of the scene against the survey's.</param>
/// <param name="Motion">Where the ruler went since the first frame; null in clips in which it stands still.</param>
/// <param name="Change">Root mean square difference of the profile from that of the frame before; NaN for the first.</param>
/// <param name="AcrossSigmaPx">Width of the streak across, as a standard deviation, in px; NaN where it cannot be told.</param>
internal readonly record struct PassedFrame(int Index, double TimeSeconds, int ClippedSamples, double Gain, RulerMotion? Motion,
    double Change, double AcrossSigmaPx);
