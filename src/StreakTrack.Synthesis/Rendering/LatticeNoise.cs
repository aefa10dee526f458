namespace StreakTrack.Synthesis.Rendering;

/// <summary>Smooth random unevenness of a plane: random values on a lattice, blended between its points.</summary>
internal readonly struct LatticeNoise(int seed, RandomStream stream)
{
    private readonly SeededRandom _random = new(seed, stream);

    /// <summary>Value at a point, in lattice steps; about -1 to 1.</summary>
    public double At(double x, double y)
    {
        double left = Math.Floor(x), top = Math.Floor(y);
        double s = Smooth(x - left), t = Smooth(y - top);
        long column = (long)left, row = (long)top;
        double upper = Point(column, row) * (1 - s) + Point(column + 1, row) * s;
        double lower = Point(column, row + 1) * (1 - s) + Point(column + 1, row + 1) * s;
        return upper * (1 - t) + lower * t;
    }

    private double Point(long column, long row) => 2 * _random.Uniform(column + row * 1_000_003) - 1;

    private static double Smooth(double s) => s * s * (3 - 2 * s);
}
