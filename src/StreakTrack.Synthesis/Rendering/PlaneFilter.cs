using System.Numerics;

namespace StreakTrack.Synthesis.Rendering;

/// <summary>Separable filters on a plane of floats; the border is continued outward.</summary>
internal static class PlaneFilter
{
    /// <summary>The plane blurred by a Gaussian.</summary>
    public static float[] Blur(float[] plane, int width, int height, double sigmaPx)
    {
        return Apply(plane, new float[plane.Length], width, height, GaussianKernel(sigmaPx), GaussianKernel(sigmaPx));
    }

    /// <summary>The plane moved right and down by fractions of pixels, by polynomial interpolation.</summary>
    public static void Shift(float[] plane, float[] into, int width, int height, double rightPx, double downPx)
    {
        int wholeRight = (int)Math.Floor(rightPx), wholeDown = (int)Math.Floor(downPx);
        Apply(plane, into, width, height, ShiftKernel(rightPx - wholeRight), ShiftKernel(downPx - wholeDown), -wholeRight, -wholeDown);
    }

    /// <summary>Filters a fine row and keeps the middle one of every few points.</summary>
    /// <param name="fine">The fine row.</param>
    /// <param name="kernel">The filter, of odd length.</param>
    /// <param name="factor">Fine points for each one kept, odd.</param>
    /// <param name="kept">Takes the points kept.</param>
    public static void Decimate(ReadOnlySpan<float> fine, ReadOnlySpan<float> kernel, int factor, Span<float> kept)
    {
        for (int i = 0; i < kept.Length; i++)
        {
            int first = i * factor + factor / 2 - kernel.Length / 2;
            float sum = 0;
            if (first >= 0 && first + kernel.Length <= fine.Length)
            {
                ReadOnlySpan<float> part = fine.Slice(first, kernel.Length);
                for (int k = 0; k < part.Length; k++)
                    sum += kernel[k] * part[k];
            }
            else
            {
                for (int k = 0; k < kernel.Length; k++)
                    sum += kernel[k] * fine[Math.Clamp(first + k, 0, fine.Length - 1)];
            }

            kept[i] = sum;
        }
    }

    /// <summary>Filters fine rows across and keeps the middle one of every few.</summary>
    public static void DecimateRows(float[] fineRows, float[] kernel, int factor, int width, float[] kept)
    {
        int fine = fineRows.Length / width;
        for (int v = 0; v < kept.Length / width; v++)
        {
            Span<float> row = kept.AsSpan(v * width, width);
            for (int k = 0; k < kernel.Length; k++)
            {
                int source = Math.Clamp(v * factor + factor / 2 - kernel.Length / 2 + k, 0, fine - 1);
                AddScaled(fineRows.AsSpan(source * width, width), kernel[k], row);
            }
        }
    }

    /// <summary>Samples of a Gaussian over 4.5 standard deviations to each side, with sum 1.</summary>
    public static float[] GaussianKernel(double sigma)
    {
        int reach = Math.Max(1, (int)Math.Ceiling(4.5 * sigma));
        var kernel = new double[2 * reach + 1];
        for (int i = -reach; i <= reach; i++)
            kernel[i + reach] = Math.Exp(-0.5 * i * i / (sigma * sigma));
        double sum = kernel.Sum();
        return [.. kernel.Select(k => (float)(k / sum))];
    }

    /// <summary>Weights of the pixels at -4..4 for a shift of 0 to 1 to the right: Lagrange's polynomial through the eight
    /// nearest.</summary>
    /// <remarks>Unlike a windowed sinc of this length it moves every centroid by exactly the fraction asked for.</remarks>
    private static float[] ShiftKernel(double fraction)
    {
        var kernel = new float[9];
        for (int i = -4; i <= 3; i++)
        {
            double weight = 1;
            for (int other = -4; other <= 3; other++)
            {
                if (other != i)
                    weight *= (-fraction - other) / (i - other);
            }

            kernel[i + 4] = (float)weight;
        }

        return kernel;
    }

    private static float[] Apply(
        float[] plane, float[] into, int width, int height, float[] alongRows, float[] alongColumns, int offsetU = 0, int offsetV = 0)
    {
        int reachU = alongRows.Length / 2, reachV = alongColumns.Length / 2;
        var row = new float[width + alongRows.Length - 1];
        for (int v = 0; v < height; v++)
        {
            Span<float> middle = row.AsSpan(reachU, width);
            middle.Clear();
            for (int k = 0; k < alongColumns.Length; k++)
            {
                int source = Math.Clamp(v + offsetV + k - reachV, 0, height - 1);
                AddScaled(plane.AsSpan(source * width, width), alongColumns[k], middle, offsetU);
            }

            row.AsSpan(0, reachU).Fill(row[reachU]);
            row.AsSpan(reachU + width).Fill(row[reachU + width - 1]);
            Span<float> result = into.AsSpan(v * width, width);
            result.Clear();
            for (int k = 0; k < alongRows.Length; k++)
                AddScaled(row.AsSpan(k, width), alongRows[k], result, 0);
        }

        return into;
    }

    /// <summary>to[i] += factor from[i + offset], the ends of <paramref name="from"/> continued outward.</summary>
    private static void AddScaled(ReadOnlySpan<float> from, float factor, Span<float> to, int offset)
    {
        if (factor == 0)
            return;

        int first = Math.Clamp(-offset, 0, to.Length), last = Math.Clamp(from.Length - offset, 0, to.Length);
        for (int i = 0; i < first; i++)
            to[i] += factor * from[0];
        for (int i = last; i < to.Length; i++)
            to[i] += factor * from[^1];
        if (last > first)
            AddScaled(from[(first + offset)..(last + offset)], factor, to[first..last]);
    }

    private static void AddScaled(ReadOnlySpan<float> from, float factor, Span<float> to)
    {
        int i = 0;
        var factors = new Vector<float>(factor);
        for (; i <= to.Length - Vector<float>.Count; i += Vector<float>.Count)
            (new Vector<float>(to[i..]) + factors * new Vector<float>(from[i..])).CopyTo(to[i..]);
        for (; i < to.Length; i++)
            to[i] += factor * from[i];
    }
}
