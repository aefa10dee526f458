namespace StreakTrack.Imaging.Streaks;

/// <summary>What is known of a profile before it is fitted. A standard deviation of 0 holds the value, infinity leaves it free.</summary>
/// <param name="CentrePx">Expected middle.</param>
/// <param name="CentreSdPx">Its standard deviation.</param>
/// <param name="SigmaSdPx">Standard deviation of the starting shape's spot width.</param>
/// <param name="PeriodsSd">Standard deviation of the starting shape's exposure in periods.</param>
/// <param name="Light">Expected light of a whole period.</param>
/// <param name="LightSd">Its standard deviation.</param>
internal readonly record struct ProfileConstraints(
    double CentrePx, double CentreSdPx, double SigmaSdPx, double PeriodsSd, double Light, double LightSd)
{
    /// <summary>Standard deviation, in rad, that keeps a phase from running away where it does not matter.</summary>
    public const double UnknownPhaseSdRad = 2;

    /// <summary>Standard deviation of the starting shape's phase at mid-exposure, in rad.</summary>
    public double MidPhaseSdRad { get; init; } = UnknownPhaseSdRad;

    /// <summary>Standard deviation of the starting shape's <see cref="StreakShape.RowPhaseRadPerPx"/>.</summary>
    public double RowPhaseSdRadPerPx { get; init; }

    /// <summary>Middle free, spot width and exposure held.</summary>
    public static ProfileConstraints Tied { get; } = Free(0, 0);

    /// <summary>Middle and light free.</summary>
    public static ProfileConstraints Free(double sigmaSdPx, double periodsSd) =>
        new(0, double.PositiveInfinity, sigmaSdPx, periodsSd, 0, double.PositiveInfinity);
}
