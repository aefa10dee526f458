using System.Runtime.CompilerServices;
using System.Runtime.Intrinsics;
using System.Runtime.Intrinsics.X86;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Brightness along the streak of a Gaussian spot that moves as centre + half length cos(phase), and its derivatives.</summary>
/// <remarks>
/// The integral over the phase is a midpoint sum with equal steps (Gauss-Chebyshev quadrature in the place): for whole periods
/// p(s) = 1/N sum N(s; c + A cos((2j - 1) pi/2N), sigma), in general with the phase that the exposure passed as the weight of each node.
/// One object belongs to one thread.
/// </remarks>
internal sealed class StreakProfile
{
    /// <summary>Parameters, in the order of the rows of <see cref="Derivatives"/>.</summary>
    public const int HalfLength = 0, Centre = 1, Light = 2, Background = 3, Start = 4, Sigma = 5, Periods = 6, RowPhase = 7, ParameterCount = 8;

    /// <summary>Largest distance of neighbouring nodes in sigma: at 0.8 a sum over whole periods departs from the integral by
    /// 2 exp(-2 pi^2/0.64) = 8e-14.</summary>
    private const double NodeSpacing = 0.8;

    /// <summary>Beyond this many sigma a node adds less than 4e-6 of its peak.</summary>
    private const double Reach = 5;

    private const int StepsPerSigma = 256;

    private static readonly float[] Gauss = MakeGauss();

    private static readonly Vector256<float> LaneNumbers = Vector256.Create(0f, 1, 2, 3, 4, 5, 6, 7);

    /// <summary>First place of the window.</summary>
    public int From { get; private set; }

    /// <summary>Places in the window.</summary>
    public int Count { get; private set; }

    /// <summary>Model values over the window.</summary>
    public float[] Values { get; private set; } = [];

    /// <summary>Derivatives of the values by each parameter, over the window.</summary>
    public float[][] Derivatives { get; } = new float[ParameterCount][];

    /// <summary>Evaluates the model over a window.</summary>
    /// <param name="shape">The parameters.</param>
    /// <param name="response">Relative response of each place of the strip (reflectance of the ruler); the window lies within it.</param>
    /// <param name="from">First place.</param>
    /// <param name="count">Number of places.</param>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public void Evaluate(in StreakShape shape, ReadOnlySpan<float> response, int from, int count)
    {
        From = from;
        Count = count;
        if (Values.Length < count)
        {
            Values = new float[count];
            for (int p = 0; p < ParameterCount; p++)
                Derivatives[p] = new float[count];
        }

        Span<float> values = Values.AsSpan(0, count);
        values.Clear();
        foreach (float[] derivative in Derivatives)
            derivative.AsSpan(0, count).Clear();
        Span<float> byHalf = Derivatives[HalfLength], byCentre = Derivatives[Centre], bySigma = Derivatives[Sigma];
        if (shape.RowPhaseRadPerPx == 0)
            AddStill(shape, values, byHalf, byCentre, bySigma);
        else
            AddRolled(shape, values, byHalf, byCentre, bySigma);

        float perLight = (float)(1 / shape.Light), background = (float)shape.Background, perPeriod = (float)(2 * Math.PI);
        for (int i = 0; i < count; i++)
        {
            float r = response[from + i];
            float value = values[i] * r;
            byHalf[i] *= r;
            byCentre[i] *= r;
            bySigma[i] *= r;
            Derivatives[Start][i] *= r;
            Derivatives[Periods][i] *= r * perPeriod;
            Derivatives[RowPhase][i] *= r;
            Derivatives[Light][i] = value * perLight;
            Derivatives[Background][i] = 1;
            values[i] = value + background;
        }
    }

    /// <summary>Brightness at one place for an even response, for checks.</summary>
    public double At(in StreakShape shape, int place)
    {
        float[] even = new float[place + 1];
        Array.Fill(even, 1f);
        Evaluate(shape, even, place, 1);
        return Values[0];
    }

    /// <summary>Nodes that a shape needs.</summary>
    public static int NodeCount(in StreakShape shape) =>
        Math.Clamp((int)Math.Ceiling(Math.PI * Math.Abs(shape.HalfLengthPx) / (NodeSpacing * shape.SigmaPx)), 24, 4096);

    /// <summary>Adds the spot of one stretch of phase to a picture of the strip.</summary>
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    public static void AddSpot(double at, double sigma, double light, Span<float> sum, int from)
    {
        double perSigma = 1 / sigma;
        float peak = (float)(light * perSigma);
        int first = Math.Max(0, (int)Math.Ceiling(at - (Reach * sigma)) - from);
        int last = Math.Min(sum.Length - 1, (int)Math.Floor(at + (Reach * sigma)) - from);
        float z = (float)((first + from - at) * perSigma), step = (float)perSigma;
        for (int i = first; i <= last; i++, z += step)
            sum[i] += peak * GaussAt(z);
    }

    private void AddSpot(double at, double sigma, double light, float[] sum) => AddSpot(at, sigma, light, sum.AsSpan(0, Count), From);

    // All places exposed at the same time.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void AddStill(in StreakShape shape, Span<float> values, Span<float> byHalf, Span<float> byCentre, Span<float> bySigma)
    {
        // Whole turns pass every place twice, on evenly spread nodes; what is left over is an arc with nodes of its own, so that its ends
        // move smoothly.
        int nodes = NodeCount(shape);
        double whole = Math.Floor(shape.Periods), arc = 2 * Math.PI * (shape.Periods - whole);
        double unit = shape.Light / (2 * Math.PI);
        if (whole > 0)
            AddArc(shape, 0, Math.PI, nodes, 2 * whole * unit, values, byHalf, byCentre, bySigma);
        if (arc > 0)
        {
            int own = Math.Max(4, (int)Math.Ceiling(nodes * arc / Math.PI));
            AddArc(shape, shape.StartRad, arc, own, unit, values, byHalf, byCentre, bySigma);
        }

        // The ends of the arc: moving its beginning adds there and takes away here, at the rate at which phase is painted.
        double end = shape.StartRad + (2 * Math.PI * shape.Periods);
        AddSpot(shape.CentrePx + (shape.HalfLengthPx * Math.Cos(end)), shape.SigmaPx, unit, Derivatives[Start]);
        Derivatives[Start].AsSpan(0, Count).CopyTo(Derivatives[Periods]);
        AddSpot(shape.CentrePx + (shape.HalfLengthPx * Math.Cos(shape.StartRad)), shape.SigmaPx, -unit, Derivatives[Start]);
    }

    /// <summary>Largest distance of nodes in sigma where the exposure may begin or end between them.</summary>
    private const double RolledSpacing = 0.3;

    // Each place with the phases of its own exposure. Of those only the ones count at which the spot is near, on its way up and down.
    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void AddRolled(in StreakShape shape, Span<float> values, Span<float> byHalf, Span<float> byCentre, Span<float> bySigma)
    {
        double half = shape.HalfLengthPx, perSigma = 1 / shape.SigmaPx, length = 2 * Math.PI * shape.Periods;
        double unit = shape.Light / (2 * Math.PI) * perSigma, reach = Reach * shape.SigmaPx;
        Span<float> byStart = Derivatives[Start], byPeriods = Derivatives[Periods], byRowPhase = Derivatives[RowPhase];
        for (int i = 0; i < values.Length; i++)
        {
            double place = From + i - shape.CentrePx;
            if (Math.Abs(place) - reach > half)
                continue;
            double start = shape.StartRad + (shape.RowPhaseRadPerPx * place), end = start + length;
            double nearest = Math.Acos(Math.Clamp((place + reach) / half, -1, 1)), farthest = Math.Acos(Math.Clamp((place - reach) / half, -1, 1));
            double sum = 0, centre = 0, halfSum = 0, sigma = 0;
            for (double turn = 2 * Math.PI * Math.Floor((start - Math.PI) / (2 * Math.PI)); turn - Math.PI < end; turn += 2 * Math.PI)
            {
                Add(turn - farthest, turn - nearest);
                Add(turn + nearest, turn + farthest);
            }

            // The exposure's ends: moving its beginning adds there and takes away here, at the rate at which phase is painted.
            double atEnd = unit * At(end), byBeginning = atEnd - (unit * At(start));
            values[i] = (float)sum;
            byHalf[i] = (float)halfSum;
            byCentre[i] = (float)(centre - (shape.RowPhaseRadPerPx * byBeginning));
            bySigma[i] = (float)sigma;
            byStart[i] = (float)byBeginning;
            byPeriods[i] = (float)atEnd;
            byRowPhase[i] = (float)(place * byBeginning);

            double At(double phase)
            {
                double z = (place - (half * Math.Cos(phase))) * perSigma;
                return Math.Abs(z) < Reach ? GaussAt((float)z) : 0;
            }

            void Add(double from, double to)
            {
                (from, to) = (Math.Max(from, start), Math.Min(to, end));
                if (!(to > from))
                    return;
                double steepest = Math.Abs(Math.Sin(from)) + Math.Abs(Math.Sin(to));
                if (Math.Floor((from / Math.PI) - 0.5) != Math.Floor((to / Math.PI) - 0.5))
                    steepest = 1;
                int nodes = Math.Max(3, (int)Math.Ceiling((to - from) * half * Math.Min(1, steepest) * perSigma / RolledSpacing));
                double step = (to - from) / nodes;
                (double sin, double cos) = Math.SinCos(from + (step / 2));
                (double sinStep, double cosStep) = Math.SinCos(step);
                double light = unit * step;
                for (int n = 0; n < nodes; n++)
                {
                    double z = (place - (half * cos)) * perSigma, value = light * GaussAt((float)z), slope = value * z * perSigma;
                    sum += value;
                    centre += slope;
                    halfSum += slope * cos;
                    sigma += value * ((z * z) - 1) * perSigma;
                    (sin, cos) = ((sin * cosStep) + (cos * sinStep), (cos * cosStep) - (sin * sinStep));
                }
            }
        }
    }

    private void AddArc(
        in StreakShape shape, double startRad, double lengthRad, int nodes, double lightPerRad, Span<float> values, Span<float> byHalf,
        Span<float> byCentre, Span<float> bySigma)
    {
        double width = lengthRad / nodes;
        for (int j = 0; j < nodes; j++)
        {
            double cos = Math.Cos(startRad + ((j + 0.5) * width));
            double at = shape.CentrePx + (shape.HalfLengthPx * cos);
            AddNode(at, shape.SigmaPx, lightPerRad * width, (float)cos, values, byHalf, byCentre, bySigma);
        }
    }

    [MethodImpl(MethodImplOptions.AggressiveOptimization)]
    private void AddNode(
        double at, double sigma, double light, float cos, Span<float> values, Span<float> byHalf, Span<float> byCentre, Span<float> bySigma)
    {
        double perSigma = 1 / sigma;
        float peak = (float)(light * perSigma), step = (float)perSigma;
        int first = Math.Max(0, (int)Math.Ceiling(at - (Reach * sigma)) - From);
        int last = Math.Min(Count - 1, (int)Math.Floor(at + (Reach * sigma)) - From);
        float start = (float)((first + From - at) * perSigma);
        int i = first;
        if (Avx2.IsSupported)
        {
            Vector256<float> zs = Vector256.Create(start) + (LaneNumbers * step);
            for (; i + Vector256<float>.Count - 1 <= last; i += Vector256<float>.Count, zs += Vector256.Create(Vector256<float>.Count * step))
            {
                Vector256<float> value = peak * GaussAt(zs), slope = value * zs * step;
                (Vector256.Create<float>(values[i..]) + value).CopyTo(values[i..]);
                (Vector256.Create<float>(byCentre[i..]) + slope).CopyTo(byCentre[i..]);
                (Vector256.Create<float>(byHalf[i..]) + (slope * cos)).CopyTo(byHalf[i..]);
                (Vector256.Create<float>(bySigma[i..]) + (value * ((zs * zs) - Vector256<float>.One) * step)).CopyTo(bySigma[i..]);
            }
        }

        float z = start + ((i - first) * step);
        for (; i <= last; i++, z += step)
        {
            float value = peak * GaussAt(z);
            float slope = value * z * step;
            values[i] += value;
            byCentre[i] += slope;
            byHalf[i] += slope * cos;
            bySigma[i] += value * ((z * z) - 1) * step;
        }
    }

    // The same as for a single place, eight at once.
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static unsafe Vector256<float> GaussAt(Vector256<float> z)
    {
        Vector256<float> place = Vector256.Abs(z) * StepsPerSigma;
        Vector256<int> index = Vector256.Min(Vector256.ConvertToInt32(place), Vector256.Create(Gauss.Length - 2));
        fixed (float* table = Gauss)
        {
            Vector256<float> low = Avx2.GatherVector256(table, index, sizeof(float));
            Vector256<float> high = Avx2.GatherVector256(table + 1, index, sizeof(float));
            return low + ((place - Vector256.ConvertToSingle(index)) * (high - low));
        }
    }

    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static float GaussAt(float z)
    {
        float place = Math.Abs(z) * StepsPerSigma;
        int index = Math.Min((int)place, Gauss.Length - 2);
        float low = Gauss[index];
        return low + ((place - index) * (Gauss[index + 1] - low));
    }

    // The standard normal density from 0 to a little beyond the reach.
    private static float[] MakeGauss()
    {
        float[] table = new float[(int)((Reach + 0.5) * StepsPerSigma) + 2];
        for (int i = 0; i < table.Length; i++)
        {
            double z = i / (double)StepsPerSigma;
            table[i] = (float)(Math.Exp(-0.5 * z * z) / Math.Sqrt(2 * Math.PI));
        }

        return table;
    }
}
