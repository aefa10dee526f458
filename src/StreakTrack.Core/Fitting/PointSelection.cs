using System.Globalization;
using StreakTrack.Core.Findings;

namespace StreakTrack.Core.Fitting;

/// <summary>Which points of the data go into a fit, in the order of time.</summary>
internal sealed class PointSelection
{
    private PointSelection(FitPoints points, double[] uncertainties, PointUse[] uses, IReadOnlyList<Finding> findings)
    {
        Points = points;
        Uncertainties = uncertainties;
        Uses = uses;
        Findings = findings;
    }

    /// <summary>The points, all with sigma 1.</summary>
    public FitPoints Points { get; }

    /// <summary>Given standard uncertainty of each of <see cref="Points"/>; empty unless every point has one.</summary>
    public double[] Uncertainties { get; }

    public bool HasUncertainties => Uncertainties.Length > 0;

    /// <summary>What became of each point of the data.</summary>
    public PointUse[] Uses { get; }

    public IReadOnlyList<Finding> Findings { get; }

    public static PointSelection Of(EnvelopeData data, EnvelopeFitOptions options)
    {
        double start = options.WindowStartSeconds ?? double.NegativeInfinity;
        double end = options.WindowEndSeconds ?? double.PositiveInfinity;
        var uses = new PointUse[data.Count];
        var chosen = new List<int>();
        for (int i = 0; i < data.Count; i++)
        {
            double time = data.TimesSeconds[i];
            uses[i] = !data.Usable[i] ? PointUse.Unusable : time >= start && time <= end ? PointUse.Used : PointUse.OutsideWindow;
            if (uses[i] == PointUse.Used)
                chosen.Add(i);
        }

        var findings = new List<Finding>();
        int backward = 0, repeated = 0;
        for (int k = 1; k < chosen.Count; k++)
        {
            double gap = data.TimesSeconds[chosen[k]] - data.TimesSeconds[chosen[k - 1]];
            backward += gap < 0 ? 1 : 0;
            repeated += gap == 0 ? 1 : 0;
        }

        if (backward > 0 || repeated > 0)
        {
            findings.Add(FindingKinds.BrokenFrameTimes.With(FindingSeverity.Warning, string.Create(CultureInfo.InvariantCulture,
                $"Of {chosen.Count} times {backward} run backwards and {repeated} repeat the one before; the points were put in order of time.")));
        }

        int[] indices = backward > 0 ? [.. chosen.OrderBy(i => data.TimesSeconds[i])] : [.. chosen];
        double[] ones = new double[indices.Length];
        Array.Fill(ones, 1);
        var points = new FitPoints(
            indices, [.. indices.Select(i => data.TimesSeconds[i])], [.. indices.Select(i => data.AmplitudesMm[i])], ones);
        double[] uncertainties = [.. indices.Select(i => data.UncertaintiesMm[i])];
        int known = uncertainties.Count(u => u > 0 && double.IsFinite(u));
        bool complete = known == uncertainties.Length;
        if (!complete && known > 0)
        {
            findings.Add(FindingKinds.UncertaintiesIncomplete.With(string.Create(CultureInfo.InvariantCulture,
                $"{known} of {indices.Length} points have an uncertainty of their own; all points count alike.")));
        }

        return new PointSelection(points, complete ? uncertainties : [], uses, findings);
    }
}
