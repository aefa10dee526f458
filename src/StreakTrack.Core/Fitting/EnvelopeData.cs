using StreakTrack.Core.Series;

namespace StreakTrack.Core.Fitting;

/// <summary>Amplitudes against time, as a fit takes them in. Immutable.</summary>
public sealed class EnvelopeData
{
    private EnvelopeData(int[] frames, double[] times, double[] amplitudes, double[] uncertainties, double[] thresholds, bool[] usable)
    {
        Frames = frames;
        TimesSeconds = times;
        AmplitudesMm = amplitudes;
        UncertaintiesMm = uncertainties;
        ThresholdAmplitudesMm = thresholds;
        Usable = usable;
    }

    /// <summary>Number of points, usable or not.</summary>
    public int Count => TimesSeconds.Count;

    /// <summary>Frame number of each point.</summary>
    public IReadOnlyList<int> Frames { get; }

    /// <summary>Time of each point, in s.</summary>
    public IReadOnlyList<double> TimesSeconds { get; }

    /// <summary>Amplitude of each point, in mm; NaN where there is none.</summary>
    public IReadOnlyList<double> AmplitudesMm { get; }

    /// <summary>Standard uncertainty of each amplitude, in mm; NaN where it is not known.</summary>
    public IReadOnlyList<double> UncertaintiesMm { get; }

    /// <summary>Amplitude from the threshold stage alone, in mm; NaN where there is none.</summary>
    public IReadOnlyList<double> ThresholdAmplitudesMm { get; }

    /// <summary>Whether each point may go into a fit.</summary>
    public IReadOnlyList<bool> Usable { get; }

    /// <summary>The points of a series; samples that their flags rule out stay visible but are not usable.</summary>
    /// <param name="series">The series.</param>
    public static EnvelopeData FromSeries(AmplitudeSeries series)
    {
        ArgumentNullException.ThrowIfNull(series);
        return new EnvelopeData(
            [.. series.Select(sample => sample.Frame)], [.. series.Select(sample => sample.TimeSeconds)],
            [.. series.Select(sample => sample.AmplitudeMm)], [.. series.Select(sample => sample.AmplitudeUncertaintyMm)],
            [.. series.Select(sample => sample.ThresholdAmplitudeMm)],
            [.. series.Select(sample => sample.IsUsable && double.IsFinite(sample.TimeSeconds))]);
    }

    /// <summary>Points given as plain numbers.</summary>
    /// <param name="timesSeconds">Times, in s.</param>
    /// <param name="amplitudesMm">Amplitudes, in mm, one a time.</param>
    /// <param name="uncertaintiesMm">Standard uncertainties, in mm, one a time; null when they are not known.</param>
    /// <exception cref="ArgumentException">The lists differ in length.</exception>
    public static EnvelopeData FromNumbers(
        IReadOnlyList<double> timesSeconds, IReadOnlyList<double> amplitudesMm, IReadOnlyList<double>? uncertaintiesMm = null)
    {
        ArgumentNullException.ThrowIfNull(timesSeconds);
        ArgumentNullException.ThrowIfNull(amplitudesMm);
        int n = timesSeconds.Count;
        if (amplitudesMm.Count != n)
            throw new ArgumentException($"There are {n} times and {amplitudesMm.Count} amplitudes.", nameof(amplitudesMm));
        if (uncertaintiesMm is not null && uncertaintiesMm.Count != n)
            throw new ArgumentException($"There are {n} times and {uncertaintiesMm.Count} uncertainties.", nameof(uncertaintiesMm));

        double[] missing = new double[n];
        Array.Fill(missing, double.NaN);
        return new EnvelopeData(
            [.. Enumerable.Range(0, n)], [.. timesSeconds], [.. amplitudesMm],
            uncertaintiesMm is null ? missing : [.. uncertaintiesMm], missing,
            [.. timesSeconds.Zip(amplitudesMm, (t, a) => double.IsFinite(t) && double.IsFinite(a))]);
    }

    /// <summary>
    /// The same points with the amplitudes of the threshold stage in place of the refined ones, and without uncertainties.
    /// </summary>
    public EnvelopeData WithThresholdAmplitudes()
    {
        double[] missing = new double[Count];
        Array.Fill(missing, double.NaN);
        return new EnvelopeData(
            [.. Frames], [.. TimesSeconds], [.. ThresholdAmplitudesMm], missing, [.. ThresholdAmplitudesMm],
            [.. Usable.Zip(ThresholdAmplitudesMm, (usable, a) => usable && double.IsFinite(a))]);
    }
}
