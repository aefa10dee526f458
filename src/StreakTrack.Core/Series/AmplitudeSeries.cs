using System.Collections;
using System.Collections.Immutable;

namespace StreakTrack.Core.Series;

/// <summary>Amplitude against time: one sample a frame, in the order of the clip. Immutable.</summary>
public sealed class AmplitudeSeries : IReadOnlyList<AmplitudeSample>
{
    private readonly ImmutableArray<AmplitudeSample> _samples;

    /// <summary>Creates a series.</summary>
    /// <param name="samples">The samples in the order of the clip; copied. Nothing is sorted, dropped or checked here.</param>
    public AmplitudeSeries(IEnumerable<AmplitudeSample> samples)
    {
        ArgumentNullException.ThrowIfNull(samples);
        _samples = [.. samples];
        UsableCount = _samples.Count(sample => sample.IsUsable);
    }

    /// <summary>Number of samples, usable or not.</summary>
    public int Count => _samples.Length;

    /// <summary>Number of samples whose amplitude can go into a fit.</summary>
    public int UsableCount { get; }

    /// <summary>The sample at a position.</summary>
    /// <param name="index">Position from 0; not the frame number, which the sample carries itself.</param>
    public AmplitudeSample this[int index] => _samples[index];

    /// <inheritdoc/>
    public IEnumerator<AmplitudeSample> GetEnumerator() => ((IEnumerable<AmplitudeSample>)_samples).GetEnumerator();

    IEnumerator IEnumerable.GetEnumerator() => GetEnumerator();
}
