namespace StreakTrack.Imaging.Streaks;

/// <summary>Frames in which something hides a part of the streak, told by their light.</summary>
/// <remarks>
/// However long the streak and however short the exposure, a frame holds all light that the laser sends in its exposure. A frame that has
/// less than the steady frames before and after it lost some on the way: to a hand, a person, the end of the ruler. A step of the exposure
/// changes the light too, but lasts, and changes the scene with it.
/// </remarks>
internal static class HiddenLight
{
    /// <summary>Frames on either side that a steady level is judged over: about a quarter of a second.</summary>
    private const int Reach = 7;

    /// <summary>Share of these frames that must lie at the level.</summary>
    private const double SteadyShare = 0.8;

    /// <summary>Logarithms of the light that differ by less are alike whatever the scatter: reflectance and vignetting.</summary>
    private const double AlikeLeast = 0.06, HiddenLeast = 0.18, EdgeLeast = 0.04;

    /// <summary>The same in standard deviations of the scatter from frame to frame.</summary>
    private const double AlikeSd = 2.5, HiddenSd = 5, EdgeSd = 1.5;

    /// <summary>Light that scatters by more cannot tell.</summary>
    private const double LargestScatter = 0.15;

    /// <summary>Frames next to a hidden one that are looked at more closely.</summary>
    private const int EdgeFrames = 5;

    /// <summary>Judges the frames.</summary>
    /// <param name="light">All light along the strip, brought to one common exposure; NaN where no streak was found.</param>
    /// <param name="gains">Brightness of each frame's scene against that exposure.</param>
    /// <param name="doubts">Standard uncertainty of each frame's light as a share of it: the noise over the streak's places, and what is not known of
    /// how much there should be.</param>
    /// <param name="excuses">Logarithm of what each frame may lack because its light may have been divided by too large an expectation; null for none.</param>
    /// <returns>One entry a frame: whether a part is hidden.</returns>
    public static bool[] Of(IReadOnlyList<double> light, IReadOnlyList<double> gains, IReadOnlyList<double> doubts, IReadOnlyList<double>? excuses = null)
    {
        // What hides the streak darkens the scene as well; what only dims the scene leaves the laser's light as it was. A frame counts
        // when it lacks light both ways.
        double[] scaled = [.. light.Select(l => l > 0 ? Math.Log(l) : double.NaN)];
        double[] seen = [.. scaled.Select((l, k) => l + Math.Log(gains[k] > 0 ? gains[k] : double.NaN))];
        (double[] missing, double scatter) = MissingFrom(scaled);
        (double[] missingToo, double scatterToo) = MissingFrom(seen);
        scatter = Math.Max(scatter, scatterToo);
        bool[] hidden = new bool[light.Count];
        if (!(scatter <= LargestScatter))
            return hidden;
        double[] lacks = [.. missing.Zip(missingToo, Math.Min).Select((lack, k) => lack - (excuses?[k] ?? 0))];
        for (int k = 0; k < hidden.Length; k++)
            hidden[k] = lacks[k] > Math.Max(HiddenLeast, HiddenSd * scatter) && BeyondDoubt(k, HiddenSd);
        bool[] seeds = [.. hidden];
        double edge = Math.Max(EdgeLeast, EdgeSd * scatter);
        for (int k = 0; k < seeds.Length; k++)
        {
            if (!seeds[k])
                continue;
            for (int n = k + 1; n <= Math.Min(hidden.Length - 1, k + EdgeFrames) && lacks[n] > edge && BeyondDoubt(n, EdgeSd); n++)
                hidden[n] = true;
            for (int n = k - 1; n >= Math.Max(0, k - EdgeFrames) && lacks[n] > edge && BeyondDoubt(n, EdgeSd); n--)
                hidden[n] = true;
        }

        return hidden;

        // What lacks, beside the light that is left. A doubt that is no number tells nothing.
        bool BeyondDoubt(int k, double deviations) => Math.Exp(lacks[k]) - 1 > deviations * doubts[k];
    }

    // How much each frame lacks against the lower of the steady levels before and after it, and the scatter from frame to frame.
    private static (double[] Missing, double Scatter) MissingFrom(double[] light)
    {
        double[] steps = [.. light.Skip(1).Zip(light, (b, a) => Math.Abs(b - a)).Where(double.IsFinite).Order()];
        double[] missing = new double[light.Length];
        if (steps.Length < 2 * Reach)
            return (missing, double.PositiveInfinity);

        // 0.6745 is the median of the absolute value of a standard normal variable; sqrt 2 because it is a difference.
        double scatter = steps[steps.Length / 2] / (0.6745 * Math.Sqrt(2)), alike = Math.Max(AlikeLeast, AlikeSd * scatter);
        double[] level = [.. Enumerable.Range(0, light.Length).Select(k => SteadyLevel(light, k, alike))];
        double[] before = new double[light.Length];
        double last = double.PositiveInfinity;
        for (int k = 0; k < light.Length; k++)
            before[k] = last = double.IsNaN(level[k]) ? last : level[k];
        last = double.PositiveInfinity;
        for (int k = light.Length - 1; k >= 0; k--)
        {
            last = double.IsNaN(level[k]) ? last : level[k];
            double usual = Math.Min(before[k], last);
            missing[k] = double.IsFinite(usual) && double.IsFinite(light[k]) ? usual - light[k] : 0;
        }

        return (missing, scatter);
    }

    private static double SteadyLevel(double[] light, int frame, double alike)
    {
        Span<double> near = stackalloc double[(2 * Reach) + 1];
        int count = 0;
        for (int n = Math.Max(0, frame - Reach); n <= Math.Min(light.Length - 1, frame + Reach); n++)
        {
            if (double.IsFinite(light[n]))
                near[count++] = light[n];
        }

        if (count <= Reach)
            return double.NaN;
        near = near[..count];
        near.Sort();
        double middle = near[count / 2];
        int at = 0;
        foreach (double value in near)
            at += Math.Abs(value - middle) < alike ? 1 : 0;
        return at >= SteadyShare * count ? middle : double.NaN;
    }
}
