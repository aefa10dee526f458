using MathNet.Numerics.LinearAlgebra;
using MathNet.Numerics.LinearAlgebra.Factorization;

namespace StreakTrack.Imaging.Ruler;

/// <summary>A tick found in the picture: its place on the axis, and its shape.</summary>
/// <param name="PlacePx">Place of its foot along the axis, in px.</param>
/// <param name="UncertaintyPx">Standard uncertainty of the place, from the scatter of the pixels about the fitted line.</param>
/// <param name="Depth">How much darker its middle is than its surroundings, as a share of these; negative for a bright line.</param>
/// <param name="DepthUncertainty">Standard uncertainty of the depth.</param>
/// <param name="SigmaPx">Width of the line: standard deviation of its Gaussian cross-section.</param>
internal sealed record TickLine(double PlacePx, double UncertaintyPx, double Depth, double DepthUncertainty, double SigmaPx)
{
    private const int Iterations = 12;

    /// <summary>Fits a straight line of Gaussian cross-section to the pixels around a place: brightness over the mean of its row
    /// = b0 + b1 x - depth exp(-x^2 / 2 sigma^2), x the distance along the axis after carrying each pixel to the axis along the tick. Every
    /// pixel counts where it lies; values interpolated between pixels would pull the place toward pixel centres.</summary>
    /// <param name="picture">The picture.</param>
    /// <param name="frame">The axis and the lean of the ticks.</param>
    /// <param name="guessPx">Where to look, along the axis.</param>
    /// <param name="halfWindowPx">Half of the piece of axis to use: at most half a tick spacing.</param>
    /// <param name="fromN">First distance from the axis to use.</param>
    /// <param name="toN">Last distance from the axis to use.</param>
    /// <param name="sign">+1 for dark lines, -1 for bright ones.</param>
    /// <param name="sigmaPx">Width of the line where it is known, or where to start.</param>
    /// <param name="fitSigma">Whether the width is fitted too.</param>
    /// <param name="isNear">Whether the guess is already within a line width, so that no search around it is needed.</param>
    /// <returns>Null where there is no such line, or too little of the picture.</returns>
    public static TickLine? Fit(RulerPicture picture, AxisFrame frame, double guessPx, double halfWindowPx, double fromN, double toN,
        int sign, double sigmaPx, bool fitSigma, bool isNear = false)
    {
        (double[] pixelX, double[] pixelY) = Gather(picture, frame, guessPx, halfWindowPx, fromN, toN);
        if (pixelX.Length < 12)
            return null;
        (double[] x, double[] y, double[] w) = Bin(pixelX, pixelY, halfWindowPx);

        double centre = 0;
        if (!isNear)
        {
            // Coarse: the shift at which a line of this width explains most.
            double best = double.PositiveInfinity;
            for (double shift = -0.7 * halfWindowPx; shift <= 0.7 * halfWindowPx; shift += 0.7 * sigmaPx)
            {
                double[] trial = [0, 0, 0, shift, sigmaPx];
                if (Step(x, y, w, trial, 3) is not { } step)
                    continue;
                for (int j = 0; j < 3; j++)
                    trial[j] += step.Delta[j];
                double sum = SumOfSquares(x, y, w, trial);
                if (trial[2] * sign > 0 && sum < best)
                    (best, centre) = (sum, shift);
            }

            if (double.IsInfinity(best))
                return null;
        }

        double[] q = [0, 0, 0, centre, sigmaPx];
        if (Step(x, y, w, q, 3) is not { } start)
            return null;
        for (int j = 0; j < 3; j++)
            q[j] += start.Delta[j];

        int p = fitSigma ? 5 : 4;
        Matrix<double>? cofactor = null;
        for (int iteration = 0; iteration < Iterations; iteration++)
        {
            if (Step(x, y, w, q, p) is not { } step)
                return null;
            // A step of more than half a line width leaves the range in which the linearisation means something.
            double limit = Math.Min(1, 0.5 * q[4] / Math.Max(1e-12, Math.Max(Math.Abs(step.Delta[3]), p > 4 ? Math.Abs(step.Delta[4]) : 0)));
            for (int j = 0; j < p; j++)
                q[j] += limit * step.Delta[j];
            cofactor = step.Cofactor;
            if (!(Math.Abs(q[3]) < halfWindowPx && q[4] > 0.3 && q[4] < halfWindowPx))
                return null;
            if (limit == 1 && Math.Abs(step.Delta[3]) < 1e-5)
                break;
        }

        double variance = Variance(pixelX, pixelY, q, p);
        return q[2] * sign > 0
            ? new TickLine(guessPx + q[3], Math.Sqrt(variance * cofactor![3, 3]), q[2], Math.Sqrt(variance * cofactor[2, 2]), q[4])
            : null;
    }

    private static (double[] X, double[] Y) Gather(RulerPicture picture, AxisFrame frame, double guessPx, double halfWindowPx, double fromN, double toN)
    {
        double uMin = double.PositiveInfinity, uMax = double.NegativeInfinity, vMin = uMin, vMax = uMax;
        foreach (double n in (ReadOnlySpan<double>)[fromN, toN])
        {
            foreach (double side in (ReadOnlySpan<double>)[-halfWindowPx, halfWindowPx])
            {
                double s = guessPx + side;
                Core.Scale.PicturePoint corner = frame.PointAt(s + (frame.Lean + frame.LeanGrowth * s) * n, n);
                (uMin, uMax) = (Math.Min(uMin, corner.UPx), Math.Max(uMax, corner.UPx));
                (vMin, vMax) = (Math.Min(vMin, corner.VPx), Math.Max(vMax, corner.VPx));
            }
        }

        int left = (int)Math.Max(picture.OffsetU, Math.Floor(uMin)), right = (int)Math.Min(picture.OffsetU + picture.Width - 1, Math.Ceiling(uMax));
        int top = (int)Math.Max(picture.OffsetV, Math.Floor(vMin)), bottom = (int)Math.Min(picture.OffsetV + picture.Height - 1, Math.Ceiling(vMax));
        int rows = (int)(toN - fromN) + 1;
        double[] rowSum = new double[rows];
        int[] rowCount = new int[rows];
        List<(double X, double Value, int Row)> pixels = [];
        for (int v = top; v <= bottom; v++)
        {
            for (int u = left; u <= right; u++)
            {
                (double s, double n) = frame.Of(u, v);
                double x = frame.Foot(s, n) - guessPx;
                if (!(n >= fromN && n <= toN && Math.Abs(x) <= halfWindowPx))
                    continue;
                int row = Math.Min(rows - 1, (int)(n - fromN));
                double value = picture[u, v];
                pixels.Add((x, value, row));
                rowSum[row] += value;
                rowCount[row]++;
            }
        }

        // Each row over its own mean: a streak along the ruler or the ruler's edge then does not look like a line across it.
        double overall = rowSum.Sum() / Math.Max(1, rowCount.Sum());
        List<double> xs = [], ys = [];
        foreach ((double x, double value, int row) in pixels)
        {
            double mean = rowSum[row] / rowCount[row];
            if (rowCount[row] < 4 || !(mean > 0.05 * overall))
                continue;
            xs.Add(x);
            ys.Add(value / mean - 1);
        }

        return ([.. xs], [.. ys]);
    }

    /// <summary>Means of columns a quarter of a pixel wide, with the number of pixels in each: as good as the pixels for a fit of lines a pixel
    /// wide, and several times quicker.</summary>
    private static (double[] X, double[] Y, double[] Weight) Bin(double[] x, double[] y, double halfWindowPx)
    {
        int bins = (int)(8 * halfWindowPx) + 1;
        double[] sumX = new double[bins], sumY = new double[bins], weight = new double[bins];
        for (int i = 0; i < x.Length; i++)
        {
            int bin = Math.Clamp((int)(4 * (x[i] + halfWindowPx)), 0, bins - 1);
            sumX[bin] += x[i];
            sumY[bin] += y[i];
            weight[bin]++;
        }

        int[] filled = [.. Enumerable.Range(0, bins).Where(bin => weight[bin] > 0)];
        return ([.. filled.Select(bin => sumX[bin] / weight[bin])], [.. filled.Select(bin => sumY[bin] / weight[bin])], [.. filled.Select(bin => weight[bin])]);
    }

    private static double SumOfSquares(double[] x, double[] y, double[] w, double[] q)
    {
        double sum = 0;
        for (int i = 0; i < x.Length; i++)
        {
            double e = Residual(x[i], y[i], q);
            sum += w[i] * e * e;
        }

        return sum;
    }

    private static double Residual(double x, double y, double[] q)
    {
        double z = (x - q[3]) / q[4];
        return y - (q[0] + q[1] * x - q[2] * Math.Exp(-0.5 * z * z));
    }

    /// <summary>Variance of a pixel: from the pixels, or, where larger, as the means of columns along the tick show it. A codec and a lens make
    /// neighbouring errors alike, so that a column's mean scatters more than its number of pixels promises; the place depends on these
    /// means only.</summary>
    private static double Variance(double[] x, double[] y, double[] q, int p)
    {
        Dictionary<int, (double Sum, int Count)> columns = [];
        double squares = 0, columnSquares = 0;
        for (int i = 0; i < x.Length; i++)
        {
            double e = Residual(x[i], y[i], q);
            squares += e * e;
            int column = (int)Math.Round(x[i]);
            (double sum, int count) = columns.GetValueOrDefault(column);
            columns[column] = (sum + e, count + 1);
        }

        foreach ((double sum, int count) in columns.Values)
            columnSquares += sum * sum / count;
        return Math.Max(squares / Math.Max(1, x.Length - p), columnSquares / Math.Max(1, columns.Count - p));
    }

    private static (Vector<double> Delta, Matrix<double> Cofactor)? Step(double[] x, double[] y, double[] w, double[] q, int p)
    {
        double[] normal = new double[p * p], right = new double[p], g = new double[5];
        for (int i = 0; i < x.Length; i++)
        {
            double z = (x[i] - q[3]) / q[4], shape = Math.Exp(-0.5 * z * z);
            double e = y[i] - (q[0] + q[1] * x[i] - q[2] * shape);
            (g[0], g[1], g[2], g[3], g[4]) = (1, x[i], -shape, -q[2] * shape * z / q[4], -q[2] * shape * z * z / q[4]);
            for (int j = 0; j < p; j++)
            {
                right[j] += w[i] * g[j] * e;
                for (int k = 0; k < p; k++)
                    normal[j * p + k] += w[i] * g[j] * g[k];
            }
        }

        try
        {
            Cholesky<double> factors = Matrix<double>.Build.Dense(p, p, normal).Cholesky();
            return (factors.Solve(Vector<double>.Build.Dense(right)), factors.Solve(Matrix<double>.Build.DenseIdentity(p)));
        }
        catch (ArgumentException)
        {
            // Not positive definite: the pixels do not determine the line.
            return null;
        }
    }
}
