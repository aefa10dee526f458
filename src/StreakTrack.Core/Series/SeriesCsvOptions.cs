using StreakTrack.Core.Oscillator;

namespace StreakTrack.Core.Series;

/// <summary>Which columns of a foreign series file mean what, and in which units they are.</summary>
public sealed record SeriesCsvOptions
{
    /// <summary>Name of the column with the time. Default <c>time_s</c>.</summary>
    public string TimeColumn { get; init; } = "time_s";

    /// <summary>Name of the column with the amplitude. Default <c>amplitude_mm</c>.</summary>
    public string AmplitudeColumn { get; init; } = "amplitude_mm";

    /// <summary>Name of the column with the amplitude's standard uncertainty. Default <c>amplitude_u_mm</c>. It may be missing.</summary>
    public string UncertaintyColumn { get; init; } = "amplitude_u_mm";

    /// <summary>Seconds for each unit of the time column, finite and positive. Default 1; 0.001 for a column in ms.</summary>
    public double SecondsPerUnit { get; init; } = 1;

    /// <summary>
    /// Millimetres for each unit of the amplitude and uncertainty columns, finite and positive. Default 1; 10 for columns in cm, 0.5 for a
    /// column that holds the whole streak length in mm.
    /// </summary>
    public double MillimetresPerUnit { get; init; } = 1;

    /// <summary>
    /// The lever that carries amplitudes given as angles of the mirror to the ruler; null when they are lengths. Default null. With it, a unit
    /// of the amplitude column is <see cref="MilliradiansPerUnit"/>.
    /// </summary>
    public OpticalLever? Lever { get; init; }

    /// <summary>Milliradians at the mirror for each unit of the amplitude and uncertainty columns, finite and positive. Default 1.</summary>
    public double MilliradiansPerUnit { get; init; } = 1;

    /// <summary>An amplitude of the file on the ruler.</summary>
    /// <param name="amplitude">The amplitude, in the file's unit; NaN gives NaN.</param>
    /// <returns>The amplitude in mm, and the mm that a small unit more would be.</returns>
    internal (double Mm, double MmPerUnit) OnRuler(double amplitude)
    {
        if (Lever is null)
            return (amplitude * MillimetresPerUnit, MillimetresPerUnit);
        double mm = Lever.AmplitudeMmFromMrad(amplitude * MilliradiansPerUnit);
        return (mm, MilliradiansPerUnit / Lever.Sensitivities(mm).MradPerMm);
    }
}
