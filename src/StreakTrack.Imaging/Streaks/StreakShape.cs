namespace StreakTrack.Imaging.Streaks;

/// <summary>Parameters of the brightness along a streak. Places and lengths in px along the strip.</summary>
/// <param name="HalfLengthPx">Half the distance between the turning points.</param>
/// <param name="CentrePx">Middle between the turning points.</param>
/// <param name="Light">Light that one whole period paints: linear units, summed over px.</param>
/// <param name="Background">Constant below the streak.</param>
/// <param name="StartRad">Phase of the swing at the beginning of the exposure; 0 is the end on the side of increasing readings.</param>
/// <param name="SigmaPx">Standard deviation of the spot.</param>
/// <param name="Periods">Length of the exposure in periods.</param>
internal readonly record struct StreakShape(
    double HalfLengthPx, double CentrePx, double Light, double Background, double StartRad, double SigmaPx, double Periods);
