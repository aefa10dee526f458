namespace StreakTrack.Imaging.Streaks;

/// <summary>Brightness along the streak of a Gaussian spot that moves as center + halfLength cos(phase).</summary>
/// <remarks>
/// A harmonic motion dwells at its ends: the density of places is the arcsine density, here convolved with the spot by Gauss-Chebyshev
/// quadrature, p(s) = 1/N sum_j w_j N(s; c + A cos((2j - 1) pi/2N), sigma). The brightness w runs linearly from one end to the other,
/// because an exposure that is not a whole number of periods paints one end more often than the other.
/// </remarks>
internal static class StreakProfile
{
    /// <summary>Largest distance of neighbouring nodes, in sigma. At 1.2 the sum departs from the integral by 2 exp(-2 pi²/1.44) = 2e-6.</summary>
    private const double NodeSpacing = 1.2;

    /// <summary>Beyond this many sigma a node adds less than 4e-6 of its peak.</summary>
    private const double Reach = 5;

    /// <summary>Number of parameters of <see cref="Evaluate"/>.</summary>
    public const int ParameterCount = 6;

    /// <summary>Model value and derivatives at one place.</summary>
    /// <param name="s">Place, in px.</param>
    /// <param name="p">The parameters.</param>
    /// <param name="nodes">Nodes from <see cref="Nodes"/> for about this half length.</param>
    /// <param name="gradient">Receives the derivatives by centre, half length, first brightness, second brightness, background, sigma.</param>
    public static double Evaluate(double s, in StreakProfileParameters p, double[] nodes, Span<double> gradient)
    {
        double sum = 0, byCentre = 0, byHalf = 0, byFirst = 0, bySecond = 0, bySigma = 0;
        double inverseSigma = 1 / p.SigmaPx;
        double norm = inverseSigma / (Math.Sqrt(2 * Math.PI) * nodes.Length);
        foreach (double cos in nodes)
        {
            double z = (s - p.CentrePx - (p.HalfLengthPx * cos)) * inverseSigma;
            if (!(Math.Abs(z) < Reach))
                continue;
            double gauss = norm * Math.Exp(-0.5 * z * z);
            double firstShare = 0.5 * (1 - cos), secondShare = 0.5 * (1 + cos);
            double weight = (p.FirstBrightness * firstShare) + (p.SecondBrightness * secondShare);
            double value = weight * gauss;
            double slope = value * z * inverseSigma;
            sum += value;
            byCentre += slope;
            byHalf += slope * cos;
            byFirst += gauss * firstShare;
            bySecond += gauss * secondShare;
            bySigma += value * ((z * z) - 1) * inverseSigma;
        }

        gradient[0] = byCentre;
        gradient[1] = byHalf;
        gradient[2] = byFirst;
        gradient[3] = bySecond;
        gradient[4] = 1;
        gradient[5] = bySigma;
        return sum + p.Background;
    }

    /// <summary>Cosines of the quadrature's phases for a half length of about this size.</summary>
    public static double[] Nodes(double halfLengthPx, double sigmaPx)
    {
        int count = Math.Max(16, (int)Math.Ceiling(Math.PI * Math.Abs(halfLengthPx) / (NodeSpacing * sigmaPx)));
        double[] nodes = new double[count];
        for (int j = 0; j < count; j++)
            nodes[j] = Math.Cos((2 * j + 1) * Math.PI / (2 * count));
        return nodes;
    }
}
