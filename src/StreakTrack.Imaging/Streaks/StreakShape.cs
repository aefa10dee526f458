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
    double HalfLengthPx, double CentrePx, double Light, double Background, double StartRad, double SigmaPx, double Periods)
{
    /// <summary>How much later, in rad of the swing's phase, a place's exposure begins for each px along the strip, counted from the middle: the
    /// rolling shutter of a camera whose rows lie across the streak. Its sign cannot be told from pictures: turned round, with the phase run
    /// backwards, they look the same.</summary>
    public double RowPhaseRadPerPx { get; init; }
}
