using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Streaks;

/// <summary>The profiles of a clip after a look at all of them: what is left of the ambient light taken off, the noise known, and
/// the streak found roughly in every frame.</summary>
internal sealed class StreakScene
{
    /// <summary>Speckle and the ruler's texture disturb the light in proportion to it: a few per cent of a spot that covers many
    /// grains.</summary>
    public const double RelativeDisturbance = 0.03;

    /// <summary>How many times as bright as the noise an end must be not to count as faint.</summary>
    public const double FaintPeak = 5;

    private const int SampleFrames = 160;

    /// <summary>Parts of a strip of which the quietest tells the noise, samples that such a part needs, and how much quieter than usual one
    /// of them is by chance at most.</summary>
    private const int QuietParts = 8, LeastQuiet = 40;
    private const double QuieterByChance = 1.5;

    /// <summary>Frames in which a place must be free of the streak for its ambient light to be taken from there.</summary>
    private const int LeastFreeFrames = 4;

    private readonly ProfileView _profiles;
    private readonly float[] _ambient;

    private StreakScene(ProfileView profiles, float[] ambient, ProfileNoise noise, CoarseStreak?[] coarse, CoarseStreak?[] whole, double[] light, double[] lightSd)
    {
        _profiles = profiles;
        _ambient = ambient;
        Noise = noise;
        Coarse = coarse;
        Whole = whole;
        Light = light;
        LightSd = lightSd;
    }

    /// <summary>Samples of a profile.</summary>
    public int Length => _profiles.Length;

    /// <summary>Noise where there is no streak, and how far it hangs together.</summary>
    public ProfileNoise Noise { get; }

    /// <summary>The streak of each frame by threshold; null where there is none.</summary>
    public CoarseStreak?[] Coarse { get; }

    /// <summary>The streaks of the frames in which nothing hides a part of it; null in the others.</summary>
    public CoarseStreak?[] Whole { get; }

    /// <summary>All light along the strip in each frame; NaN where no streak was found.</summary>
    public double[] Light { get; }

    /// <summary>Standard deviation of <see cref="Light"/> by the noise where there is no light.</summary>
    public double[] LightSd { get; }

    /// <summary>Looks at the profiles.</summary>
    /// <param name="profiles">The profiles.</param>
    /// <param name="band">The strip that they lie along.</param>
    /// <param name="gains">Brightness of each frame's scene, which was taken out of its profile.</param>
    /// <param name="sigmaPx">The spot's standard deviation, roughly.</param>
    /// <param name="options">Settings.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    public static StreakScene Of(
        ProfileView profiles, StripGeometry band, IReadOnlyList<double> gains, double sigmaPx, StreakOptions options,
        CancellationToken cancellationToken)
    {
        int length = profiles.Length, count = Math.Min(SampleFrames, profiles.Count);
        float[][] sample = new float[count][];
        for (int k = 0; k < count; k++)
        {
            sample[k] = new float[length];
            profiles.Read((int)((long)k * profiles.Count / count), sample[k]);
        }

        var noise = new ProfileNoise(Median([.. sample.Select(light => NoiseOf(light, band))]), RelativeDisturbance, sigmaPx);
        float[] smooth = new float[length];
        double centre = double.NaN;
        float[] ambient = new float[length];
        var free = new bool[count][];

        // What is free of the streak decides the ambient light, and that the streak: two rounds.
        bool rowsMatter = band.CrossesRows && !options.SeparateExposures;
        for (int round = 0; round < 2; round++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            float[] light = new float[length];
            var streaks = new CoarseStreak?[count];
            for (int k = 0; k < count; k++)
            {
                Subtract(sample[k], ambient, light);
                streaks[k] = CoarseStreak.Find(light, noise, sigmaPx, options.ThresholdFraction, centre, smooth, rowsMatter);
            }

            centre = MiddleOf(streaks);
            for (int k = 0; k < count; k++)
                free[k] = FreeOf(streaks[k], length, sigmaPx);
            ambient = AmbientOf(sample, free);
        }

        ProfileNoise known = NoiseOutside(sample, free, ambient, sigmaPx, noise);
        var coarse = new CoarseStreak?[profiles.Count];
        float[] profile = new float[length];
        for (int k = 0; k < profiles.Count; k++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            profiles.Read(k, profile);
            Subtract(profile, ambient, profile);
            coarse[k] = CoarseStreak.Find(profile, known, sigmaPx, options.ThresholdFraction, centre, smooth, rowsMatter);
        }

        // A shutter that rolls along the streak sees the spot for longer while it moves along with it: how much light there should be is known
        // from the fit alone. Photographs owe nothing to each other.
        // Its noise is that of neighbours' differences: what hides the streak moves about beside it too, and is no noise.
        (double[] allLight, double[] lightSd) = LightOf(profiles, ambient, coarse, noise, sigmaPx, cancellationToken);
        bool[] hidden = options.SeparateExposures || rowsMatter ? new bool[coarse.Length] : HiddenLight.Of(allLight, gains, [.. lightSd.Zip(allLight, (sd, light) => sd / light)]);
        CoarseStreak?[] whole = [.. coarse.Select((streak, k) => hidden[k] || streak is { IsInPieces: true } ? null : streak)];
        return new StreakScene(profiles, ambient, known, coarse, whole, allLight, lightSd);
    }

    /// <summary>The streak of one frame by threshold, from its own profile alone.</summary>
    /// <param name="profile">The profile.</param>
    /// <param name="frame">The frame it belongs to.</param>
    /// <param name="band">The strip that it lies along.</param>
    /// <param name="sigmaPx">The spot's standard deviation, roughly.</param>
    /// <param name="thresholdFraction">The threshold.</param>
    public static RoughReading AtFirstSight(
        float[] profile, RawFrame frame, StripGeometry band, double sigmaPx, double thresholdFraction)
    {
        var noise = new ProfileNoise(NoiseOf(profile, band), RelativeDisturbance, sigmaPx);
        CoarseStreak? streak = CoarseStreak.Find(
            profile, noise, sigmaPx, thresholdFraction, double.NaN, new float[profile.Length], band.CrossesRows);
        return new RoughReading(frame.Index, frame.TimeSeconds, streak?.HalfLengthPx ?? double.NaN);
    }

    /// <summary>Noise of a sample, from one profile alone.</summary>
    /// <param name="light">The profile.</param>
    /// <param name="band">The strip that it lies along.</param>
    /// <remarks>Differences of neighbours a few samples apart see no slow background; their lower part is noise even when a streak covers
    /// much.</remarks>
    public static double NoiseOf(float[] light, StripGeometry band)
    {
        const int apart = 4;
        var differences = new List<float>(light.Length);
        for (int i = apart; i < light.Length; i++)
        {
            float d = Math.Abs(light[i] - light[i - apart]);
            if (!float.IsNaN(d))
                differences.Add(d);
        }

        if (differences.Count < 16)
            return 1e-4;

        if (!band.CrossesRows)
            return Math.Max(SdOf(differences), 1e-5);

        // Along the short side of a picture the streak may cover nearly all of the strip, and then leaves its texture in that lower part
        // too, but not in the quietest eighth. Of so many eighths one is quieter by chance, which is allowed for.
        int part = differences.Count / QuietParts;
        double quietest = part < LeastQuiet
            ? double.PositiveInfinity
            : Enumerable.Range(0, (2 * QuietParts) - 1).Min(k => SdOf(differences.GetRange(k * part / 2, part)));
        return Math.Max(Math.Min(SdOf(differences), QuieterByChance * quietest), 1e-5);

        // 0.3186 is the quartile of the absolute value of a standard normal variable; sqrt 2 because it is a difference.
        static double SdOf(List<float> differences)
        {
            differences.Sort();
            return differences[differences.Count / 4] / (0.3186 * Math.Sqrt(2));
        }
    }

    /// <summary>Reads a frame's profile of laser light.</summary>
    public void Read(int frame, Span<float> light)
    {
        _profiles.Read(frame, light);
        Subtract(light, _ambient, light);
    }

    /// <summary>Frames on either side whose ends tell where the streak's light may lie.</summary>
    private const int LightFrames = 5;

    // All light between the ends of a frame and its neighbours: with the faint stretches, which lie below the threshold and which a short
    // exposure has anywhere, and without what moves about elsewhere. NaN where no streak was found.
    private static (double[] Light, double[] Sd) LightOf(
        ProfileView profiles, float[] ambient, CoarseStreak?[] streaks, ProfileNoise noise, double sigmaPx, CancellationToken cancellationToken)
    {
        double[] light = new double[streaks.Length], sd = new double[streaks.Length];
        var options = new ParallelOptions { CancellationToken = cancellationToken };
        Parallel.For(0, light.Length, options, () => new float[ambient.Length], (k, _, profile) =>
        {
            if (streaks[k] is null)
            {
                light[k] = sd[k] = double.NaN;
                return profile;
            }

            (double first, double second) = CoarseStreak.FarthestEnds(streaks, k, LightFrames);
            profiles.Read(k, profile);
            double sum = 0;
            int from = Math.Max(0, (int)(first - (2 * sigmaPx)));
            int to = Math.Min(profile.Length - 1, (int)(second + (2 * sigmaPx)));
            float last = 0;
            for (int i = from; i <= to; i++)
            {
                // Where all is clipped, at least as much as beside.
                last = float.IsNaN(profile[i]) ? last : profile[i] - ambient[i];
                sum += last;
            }

            // Neighbours share their noise.
            light[k] = sum;
            sd[k] = noise.DarkSd * Math.Sqrt(Math.Max(1, to - from + 1) * noise.CorrelationLengthPx);
            return profile;
        }, _ => { });
        return (light, sd);
    }

    private static void Subtract(ReadOnlySpan<float> profile, ReadOnlySpan<float> ambient, Span<float> light)
    {
        for (int i = 0; i < ambient.Length; i++)
            light[i] = profile[i] - ambient[i];
    }

    // Middle of the streaks, the longer ones counting more: short exposures and stray spots lie beside it.
    private static double MiddleOf(CoarseStreak?[] streaks)
    {
        (double Middle, double Weight)[] found = 
            [.. streaks.OfType<CoarseStreak>().Select(s => (s.CentrePx, s.HalfLengthPx)).OrderBy(s => s.CentrePx)];
        double all = found.Sum(f => f.Weight), sum = 0;
        foreach ((double middle, double weight) in found)
        {
            sum += weight;
            if (sum >= all / 2)
                return middle;
        }

        return double.NaN;
    }

    private static bool[] FreeOf(CoarseStreak? streak, int length, double sigmaPx)
    {
        bool[] free = new bool[length];
        Array.Fill(free, true);
        if (streak is CoarseStreak found)
        {
            // Five sigma beyond the edge at half of the brightness the spot itself adds nothing.
            int from = Math.Max(0, (int)(found.FirstEndPx - (5 * sigmaPx)));
            int to = Math.Min(length - 1, (int)(found.SecondEndPx + (5 * sigmaPx)));
            for (int i = from; i <= to; i++)
                free[i] = false;
        }

        return free;
    }

    private static float[] AmbientOf(float[][] sample, bool[][] free)
    {
        int length = sample[0].Length;
        float[] ambient = new float[length];
        float[] values = new float[sample.Length];
        for (int i = 0; i < length; i++)
        {
            int count = 0;
            for (int k = 0; k < sample.Length; k++)
            {
                if (free[k][i] && !float.IsNaN(sample[k][i]))
                    values[count++] = sample[k][i];
            }

            if (count < Math.Min(LeastFreeFrames, sample.Length))
            {
                ambient[i] = float.NaN;
                continue;
            }

            Array.Sort(values, 0, count);
            ambient[i] = values[count / 2];
        }

        FillGaps(ambient);
        return ambient;
    }

    // Straight across what the streak never leaves; 0 when it leaves nothing.
    private static void FillGaps(float[] values)
    {
        int last = -1;
        for (int i = 0; i <= values.Length; i++)
        {
            if (i < values.Length && float.IsNaN(values[i]))
                continue;
            float left = last >= 0 ? values[last] : float.NaN, right = i < values.Length ? values[i] : float.NaN;
            if (float.IsNaN(left))
                left = float.IsNaN(right) ? 0 : right;
            if (float.IsNaN(right))
                right = left;
            for (int k = last + 1; k < i; k++)
                values[k] = left + ((right - left) * (k - last) / (i - last));
            last = i;
        }
    }

    private static ProfileNoise NoiseOutside(float[][] sample, bool[][] free, float[] ambient, double sigmaPx, ProfileNoise fallback)
    {
        int length = ambient.Length, lags = (int)Math.Ceiling(2 * sigmaPx) + 1;
        double[] products = new double[lags];
        long[] counts = new long[lags];
        for (int k = 0; k < sample.Length; k += 2)
        {
            for (int i = 0; i < length; i++)
            {
                float a = sample[k][i] - ambient[i];
                if (!free[k][i] || float.IsNaN(a))
                    continue;
                for (int lag = 0; lag < lags && i + lag < length; lag++)
                {
                    float b = sample[k][i + lag] - ambient[i + lag];
                    if (!free[k][i + lag] || float.IsNaN(b))
                        continue;
                    products[lag] += a * (double)b;
                    counts[lag]++;
                }
            }
        }

        if (counts[0] < 10 * lags || !(products[0] > 0))
            return fallback;
        double variance = products[0] / counts[0], correlation = 1;
        for (int lag = 1; lag < lags && counts[lag] > 0; lag++)
        {
            double rho = products[lag] / counts[lag] / variance;
            if (rho < 0.1)
                break;
            correlation += 2 * rho;
        }

        return new ProfileNoise(Math.Max(Math.Sqrt(variance), 1e-5), RelativeDisturbance, correlation);
    }

    private static double Median(double[] values)
    {
        Array.Sort(values);
        return values.Length % 2 == 1 ? values[values.Length / 2] : 0.5 * (values[(values.Length / 2) - 1] + values[values.Length / 2]);
    }
}
