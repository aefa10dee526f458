using StreakTrack.Core.Series;
using StreakTrack.Core.Submissions;

namespace StreakTrack.Core.Tests.Submissions;

public class ResemblanceTests
{
    [Fact]
    public void Trimmed_and_noisier_copies_of_a_series_are_told_from_other_takes()
    {
        double[] noise = Noise(1), other = Noise(2), added = Noise(3);
        Judgement original = Of(Decay(noise, 1)), copy = Of(Decay([.. noise.Zip(added, (a, b) => a + (0.5 * b))], 1)[17..]), take = Of(Decay(other, 1)), scaled = Of(Decay(noise, 0.4));

        Assert.True(Resemblance.Of(original, copy) is { IsHint: true, SeriesAlike: true });
        Assert.True(Resemblance.Of(original, scaled) is { IsHint: true, Series: > 0.99 });
        Assert.True(Resemblance.Of(original, take) is { IsHint: false, SeriesAlike: false });
    }

    [Fact]
    public void Unrelated_takes_are_hardly_ever_alike()
    {
        Judgement[] takes = [.. Enumerable.Range(0, 40).Select(i => Of(Decay(Noise(100 + i), 1)))];

        int hints = 0;
        for (int i = 0; i < takes.Length; i++)
            hints += takes[..i].Count(t => Resemblance.Of(t, takes[i]).IsHint);

        Assert.Equal(0, hints);
    }

    [Fact]
    public void Too_short_a_series_is_like_nothing()
    {
        Judgement brief = Of(Decay(Noise(1), 1)[..15]);

        Assert.Empty(brief.SeriesTrace);
        Assert.Equal(0, Resemblance.Of(brief, brief).Series);
    }

    private static double[] Noise(int seed)
    {
        var random = new Random(seed);
        return [.. Enumerable.Range(0, 150).Select(_ => 0.1 * Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble()))];
    }

    // All takes switch at the same moment and decay alike: only what scatters may tell them apart.
    private static double[] Decay(double[] noise, double scale) =>
        [.. noise.Select((e, i) => scale * ((40 * Math.Exp(-Math.Max(0, i - 20) / 30.0 / 1.1)) + e))];

    private static Judgement Of(double[] amplitudes) => new()
    {
        Submission = "a", Verdict = Verdict.Reproduced,
        SeriesTrace = SeriesTrace.Of(new AmplitudeSeries([.. amplitudes.Select((a, i) => Sample(i, a))])),
    };

    private static AmplitudeSample Sample(int frame, double amplitude) => new() { Frame = frame, TimeSeconds = frame / 30.0, ThresholdAmplitudeMm = amplitude };
}
