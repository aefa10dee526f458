namespace StreakTrack.Synthesis.Rendering;

/// <summary>Ten digits drawn as strokes on a grid 4 wide and 6 high, y downward.</summary>
internal static class StrokeFont
{
    /// <summary>Height of a digit on its grid.</summary>
    public const double GridHeight = 6;

    /// <summary>Distance from one digit to the next on the grid.</summary>
    public const double Advance = 5.6;

    /// <summary>Width of a digit on its grid.</summary>
    public const double GridWidth = 4;

    private static readonly double[][][] Digits =
    [
        [[1, 0, 3, 0, 4, 1.2, 4, 4.8, 3, 6, 1, 6, 0, 4.8, 0, 1.2, 1, 0]],
        [[0.8, 1.2, 2.2, 0, 2.2, 6], [0.9, 6, 3.5, 6]],
        [[0, 1.2, 1, 0, 3, 0, 4, 1, 4, 2.2, 0, 6, 4, 6]],
        [[0, 0, 4, 0, 1.9, 2.4, 3, 2.4, 4, 3.5, 4, 4.9, 3, 6, 1, 6, 0, 5]],
        [[3, 6, 3, 0, 0, 4.1, 4, 4.1]],
        [[3.8, 0, 0.5, 0, 0.2, 2.7, 1.1, 2.2, 3, 2.2, 4, 3.3, 4, 4.9, 3, 6, 1, 6, 0, 5.1]],
        [[3.5, 0, 1.6, 0.6, 0.2, 2.6, 0, 4.6, 1, 6, 3, 6, 4, 4.8, 4, 3.7, 3, 2.6, 1.2, 2.6, 0.1, 3.6]],
        [[0, 0, 4, 0, 1.3, 6]],
        [[1, 2.8, 0.2, 2, 0.2, 0.9, 1.1, 0, 2.9, 0, 3.8, 0.9, 3.8, 2, 3, 2.8, 1, 2.8, 0, 3.8, 0, 5, 1, 6, 3, 6, 4, 5, 4, 3.8, 3, 2.8]],
        [[0.5, 6, 2.4, 5.4, 3.8, 3.4, 4, 1.4, 3, 0, 1, 0, 0, 1.2, 0, 2.3, 1, 3.4, 2.8, 3.4, 3.9, 2.4]],
    ];

    /// <summary>Distance of a point from the nearest stroke of a digit, on the grid.</summary>
    public static double Distance(int digit, double x, double y)
    {
        double nearest = double.MaxValue;
        foreach (double[] line in Digits[digit])
        {
            for (int i = 0; i + 3 < line.Length; i += 2)
            {
                double ax = line[i], ay = line[i + 1], bx = line[i + 2] - ax, by = line[i + 3] - ay;
                double along = Math.Clamp(((x - ax) * bx + (y - ay) * by) / (bx * bx + by * by), 0, 1);
                double dx = x - ax - along * bx, dy = y - ay - along * by;
                nearest = Math.Min(nearest, dx * dx + dy * dy);
            }
        }

        return Math.Sqrt(nearest);
    }
}
