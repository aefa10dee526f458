using System.Numerics;
using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Studies;

/// <summary>Starting values of a sweep's fit: resonance frequencies and decay times near which its sum of squares is smallest.</summary>
/// <remarks>
/// Over a grid of both the motion follows step after step; the level is a plain regression, because the whole motion goes with it. Jumps of the drive's phase
/// are tried in turn at each step, with the level that the ends of the steps give. The Lorentzian shape is near enough for a start.
/// </remarks>
internal sealed class SweepSeeds
{
    private const int MostPoints = 400;
    private const int Frequencies = 100;
    private const int Taus = 16;
    private const int PhaseTrials = 16;
    private const double ShiftTrials = 8;

    private readonly double[] _frequencies;
    private readonly double[] _starts;
    private readonly double[] _times;
    private readonly double[] _amplitudes;
    private readonly double[] _ends;

    /// <summary>A start.</summary>
    /// <param name="FrequencyHz">Resonance frequency, in Hz.</param>
    /// <param name="TauSeconds">Decay time, in s.</param>
    /// <param name="LevelMm">Steady amplitude on resonance, in mm.</param>
    /// <param name="ShiftSeconds">What is added to the nominal times of the steps, in s.</param>
    /// <param name="JumpsRadians">Phase jumps at all steps but the first, in rad.</param>
    /// <param name="Sum">Mean square of the deviations, in mm^2.</param>
    public sealed record Seed(
        double FrequencyHz, double TauSeconds, double LevelMm, double ShiftSeconds, double[] JumpsRadians, double Sum);

    public SweepSeeds(IReadOnlyList<DriveStep> steps, FitPoints points)
    {
        _frequencies = [.. steps.Select(step => step.FrequencyHz)];
        _starts = [.. steps.Select(step => step.StartSeconds)];
        int stride = (points.Count + MostPoints - 1) / MostPoints;
        _times = [.. points.Times.Where((_, i) => i % stride == 0)];
        _amplitudes = [.. points.Amplitudes.Where((_, i) => i % stride == 0)];
        _ends = EndLevels();
    }

    /// <summary>The best starts, the best first.</summary>
    /// <param name="jumps">Whether the drive's phase may jump.</param>
    /// <param name="count">Most starts wanted.</param>
    /// <param name="cancellationToken">Ends the work.</param>
    public IReadOnlyList<Seed> Find(bool jumps, int count, CancellationToken cancellationToken)
    {
        double lowest = _frequencies.Min(), highest = _frequencies.Max(), range = highest - lowest;
        double total = _times[^1] - _times[0], shortest = total / _frequencies.Length;
        double ratio = Math.Pow(4 * total / (0.03 * shortest), 1.0 / (Taus - 1));
        var best = new Seed?[Frequencies];
        for (int a = 0; a < Frequencies; a++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            double frequency = lowest - (0.25 * range) + (1.5 * range * a / (Frequencies - 1));
            for (int b = 0; b < Taus; b++)
            {
                Seed? seed = Try(frequency, 0.03 * shortest * Math.Pow(ratio, b), 0, jumps);
                if (seed is not null && (best[a] is null || seed.Sum < best[a]!.Sum))
                    best[a] = seed;
            }
        }

        // The clocks of clip and table may differ by a common shift: tried where the nominal times fit best.
        Seed[] kept =
        [
            .. Enumerable.Range(0, Frequencies).Where(a => best[a] is Seed seed
                && (a == 0 || best[a - 1] is null || seed.Sum <= best[a - 1]!.Sum)
                && (a == Frequencies - 1 || best[a + 1] is null || seed.Sum <= best[a + 1]!.Sum))
                .Select(a => best[a]!).OrderBy(seed => seed.Sum).Take(count),
        ];
        double reach = Math.Min(1, _starts.Zip(_starts.Skip(1), (x, y) => y - x).Min() / 3);
        return [.. kept.Select(Shifted).OrderBy(seed => seed.Sum)];

        Seed Shifted(Seed seed)
        {
            Seed found = seed;
            for (double k = -ShiftTrials; k <= ShiftTrials; k++)
            {
                Seed? shifted = Try(seed.FrequencyHz, seed.TauSeconds, reach * k / ShiftTrials, jumps);
                if (shifted is not null && shifted.Sum < found.Sum)
                    found = shifted;
            }

            return found;
        }
    }

    /// <summary>Mean amplitude in the last third of each step; NaN where it has no points.</summary>
    private double[] EndLevels()
    {
        double[] levels = new double[_starts.Length];
        for (int k = 0; k < levels.Length; k++)
        {
            double end = k + 1 < levels.Length ? _starts[k + 1] : _times[^1];
            double from = end - ((end - _starts[k]) / 3);
            levels[k] = _amplitudes.Where((_, i) => _times[i] >= from && _times[i] < end).DefaultIfEmpty(double.NaN).Average();
        }

        return levels;
    }

    private Seed? Try(double frequency, double tau, double shift, bool jumps)
    {
        int steps = _frequencies.Length;
        Complex[] steady = [.. _frequencies.Select(f => 1 / new Complex(1, 2 * Math.PI * tau * (f - frequency)))];
        double level = jumps ? EndLevel(steady) : 1;
        if (!(level > 0))
            return null;

        double[] turned = new double[steps - 1];
        double yv = 0, vv = 0, yy = 0;
        Complex z0 = steady[0];
        int first = 0;
        for (int k = 0; k < steps; k++)
        {
            double start = k == 0 ? _times[0] : _starts[k] + shift;
            double end = k + 1 < steps ? _starts[k + 1] + shift : double.PositiveInfinity;
            int last = first;
            while (last < _times.Length && _times[last] < end)
                last++;
            var rate = new Complex(-1 / tau, -2 * Math.PI * (_frequencies[k] - frequency));
            if (jumps && k > 0)
            {
                (Complex best, double bestSum) = (z0, double.PositiveInfinity);
                for (int trial = 0; trial < PhaseTrials; trial++)
                {
                    double angle = 2 * Math.PI * trial / PhaseTrials;
                    Complex tried = z0 * Complex.FromPolarCoordinates(1, -angle);
                    double sum = 0;
                    for (int i = first; i < last; i++)
                    {
                        double deviation = _amplitudes[i] - (level * (steady[k] + (tried - steady[k]) * Complex.Exp(rate * (_times[i] - start))).Magnitude);
                        sum += deviation * deviation;
                    }

                    if (sum < bestSum)
                    {
                        (best, bestSum) = (tried, sum);
                        turned[k - 1] = angle;
                    }
                }

                z0 = best;
            }

            for (int i = first; i < last; i++)
            {
                double value = (steady[k] + (z0 - steady[k]) * Complex.Exp(rate * (_times[i] - start))).Magnitude;
                yv += _amplitudes[i] * value;
                vv += value * value;
                yy += _amplitudes[i] * _amplitudes[i];
            }

            first = last;
            if (k + 1 < steps)
                z0 = steady[k] + ((z0 - steady[k]) * Complex.Exp(rate * (end - start)));
        }

        double size = yv / vv;
        return size > 0 && double.IsFinite(size)
            ? new Seed(frequency, tau, size, shift, turned, (yy - (yv * size)) / _times.Length) : null;
    }

    /// <summary>The level by which the steady response follows the ends of the steps best.</summary>
    private double EndLevel(Complex[] steady)
    {
        double yv = 0, vv = 0;
        for (int k = 0; k < steady.Length; k++)
        {
            if (double.IsNaN(_ends[k]))
                continue;
            yv += _ends[k] * steady[k].Magnitude;
            vv += steady[k].Magnitude * steady[k].Magnitude;
        }

        return yv / vv;
    }
}
