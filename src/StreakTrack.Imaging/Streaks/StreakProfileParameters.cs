namespace StreakTrack.Imaging.Streaks;

/// <summary>Parameters of the brightness along a streak.</summary>
/// <param name="CentrePx">Rest position, in px along the strip.</param>
/// <param name="HalfLengthPx">Half the distance between the turning points, in px.</param>
/// <param name="FirstBrightness">Light of the whole streak as the first end shows it, in linear units times px.</param>
/// <param name="SecondBrightness">Light of the whole streak as the second end shows it.</param>
/// <param name="Background">Constant below the streak.</param>
/// <param name="SigmaPx">Standard deviation of the spot, in px.</param>
internal readonly record struct StreakProfileParameters(
    double CentrePx, double HalfLengthPx, double FirstBrightness, double SecondBrightness, double Background, double SigmaPx);
