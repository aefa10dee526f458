using StreakTrack.Core.Series;

namespace StreakTrack.Core.Submissions;

/// <summary>A perceptual fingerprint of a streak's series: what each amplitude deviates from the curve through its neighbours. It comes from noise and
/// from where the exposure fell in the swing, so that another take has another one, while copies that were trimmed, encoded again, made smaller or
/// cropped keep most of it.</summary>
public static class SeriesTrace
{
    /// <summary>Frames of a clip that are looked at.</summary>
    public const int MostFrames = 1000;

    /// <summary>Weights of the neighbours at one, two and three frames on either side: the value in the middle of the parabola through them.</summary>
    private static readonly double[] Neighbours = [168 / 392.0, 84 / 392.0, -56 / 392.0];

    /// <summary>A deviation of more robust standard deviations is a switch of the drive or a disturbance; it and what it touches are left out.</summary>
    private const double Disturbed = 5;

    /// <summary>Deviations beyond this are cut, so that no single frame decides.</summary>
    private const double Rim = 3;

    /// <summary>The fingerprint: a number a frame, in robust standard deviations, 0 where there is none; empty when there is too little.</summary>
    /// <param name="series">The series, in the order of the frames.</param>
    public static IReadOnlyList<double> Of(AmplitudeSeries series)
    {
        ArgumentNullException.ThrowIfNull(series);
        double[] amplitudes = [.. series.Take(MostFrames).Select(s => s.ThresholdAmplitudeMm)];
        double[] deviations = new double[amplitudes.Length];
        int reach = Neighbours.Length;
        for (int i = reach; i < amplitudes.Length - reach; i++)
        {
            double deviation = amplitudes[i];
            for (int k = 1; k <= reach; k++)
                deviation -= Neighbours[k - 1] * (amplitudes[i - k] + amplitudes[i + k]);
            deviations[i] = double.IsFinite(deviation) ? deviation : 0;
        }

        double[] sizes = [.. deviations.Select(Math.Abs).Where(d => d > 0).Order()];
        if (sizes.Length < Resemblance.FewestFrames)
            return [];
        double sigma = 1.4826 * sizes[sizes.Length / 2];
        bool[] leftOut = new bool[deviations.Length];
        for (int i = 0; i < deviations.Length; i++)
        {
            for (int k = Math.Max(0, i - reach); Math.Abs(deviations[i]) > Disturbed * sigma && k <= Math.Min(deviations.Length - 1, i + reach); k++)
                leftOut[k] = true;
        }

        return [.. deviations.Select((d, i) => leftOut[i] ? 0 : Math.Round(Math.Clamp(d / sigma, -Rim, Rim), 3))];
    }
}
