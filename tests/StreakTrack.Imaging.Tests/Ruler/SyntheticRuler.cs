using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Tests.Ruler;

/// <summary>A drawn ruler whose geometry is known exactly: a plane map of ruler millimetres to pixels, ticks of Gaussian cross-section, digits as
/// dark discs, a streak, shading and noise.</summary>
internal sealed record SyntheticRuler
{
    public int Width { get; init; } = 1200;

    public int Height { get; init; } = 300;

    /// <summary>Pixels a millimetre at the middle of the picture.</summary>
    public double PxPerMm { get; init; } = 8;

    /// <summary>Reading at the middle of the picture.</summary>
    public double MiddleMm { get; init; } = 100;

    /// <summary>Perspective along the ruler, per mm: scale at X is 1 / (1 + k (X - middle))^2 of that in the middle.</summary>
    public double AlongPerMm { get; init; }

    /// <summary>Perspective across the ruler, per mm: makes ticks converge.</summary>
    public double AcrossPerMm { get; init; }

    /// <summary>Relative shift of a point 100 mm from the middle of the picture by the lens (barrel below 0), as the square of the distance along the
    /// ruler.</summary>
    public double Distortion { get; init; }

    /// <summary>Lean of the ticks: mm along per mm across.</summary>
    public double Lean { get; init; }

    public double TurnDegrees { get; init; }

    public double TickStepMm { get; init; } = 1;

    public double TickDepth { get; init; } = 0.5;

    public double TickSigmaMm { get; init; } = 0.1;

    public double BlurPx { get; init; } = 0.8;

    public double StreakLevel { get; init; }

    public double NoiseLevel { get; init; } = 1;

    public double ShiftU { get; init; }

    public double ShiftV { get; init; }

    public double Gain { get; init; } = 1;

    public int Seed { get; init; } = 1;

    /// <summary>Readings between which nothing is seen: a hand on the ruler.</summary>
    public (double From, double To)? Covered { get; init; }

    public double StreakHalfMm { get; init; } = 30;

    /// <summary>The pixel of a point X mm along and Y mm across (upward) from the ruler's edge; the marks' line is Y = 4.</summary>
    public PicturePoint At(double xMm, double yMm)
    {
        double x = xMm - MiddleMm + Lean * (yMm - 4), y = yMm - 4, w = 1 + AlongPerMm * (xMm - MiddleMm) + AcrossPerMm * y;
        double s = PxPerMm * x / w, n = -PxPerMm * y / w;
        s *= 1 + Distortion * Math.Pow(s / PxPerMm / 100, 2);
        double turn = TurnDegrees * Math.PI / 180;
        return new PicturePoint(
            (Width - 1) / 2.0 + ShiftU + s * Math.Cos(turn) - n * Math.Sin(turn),
            (Height - 1) / 2.0 + ShiftV + s * Math.Sin(turn) + n * Math.Cos(turn));
    }

    public RulerMark Mark(double xMm, double errorPx = 0, double yMm = 4)
    {
        PicturePoint point = At(xMm, yMm);
        return new RulerMark(new PicturePoint(point.UPx + errorPx, point.VPx), xMm);
    }

    public RulerPicture Draw()
    {
        Random random = new(Seed);
        float[] samples = new float[Width * Height];
        double turn = TurnDegrees * Math.PI / 180;
        for (int v = 0; v < Height; v++)
        {
            for (int u = 0; u < Width; u++)
            {
                double du = u - (Width - 1) / 2.0 - ShiftU, dv = v - (Height - 1) / 2.0 - ShiftV;
                double s = du * Math.Cos(turn) + dv * Math.Sin(turn), n = -du * Math.Sin(turn) + dv * Math.Cos(turn);
                s = Undistorted(s);

                // Invert s w = p (dx + lean y), n w = -p y with w = 1 + a dx + b y: linear in (dx, y).
                double p = PxPerMm, a = AlongPerMm, b = AcrossPerMm;
                double m11 = p - s * a, m12 = p * Lean - s * b, m21 = -n * a, m22 = -p - n * b, det = m11 * m22 - m12 * m21;
                double dx = (s * m22 - m12 * n) / det, y = (m11 * n - m21 * s) / det;
                double x = dx + MiddleMm, w = 1 + a * dx + b * y, pxPerMm = p / (w * w);
                samples[v * Width + u] = (float)(Gain * Brightness(x, y + 4, pxPerMm) + NoiseLevel * Gaussian(random));
            }
        }

        return new RulerPicture(samples, Width, Height);
    }

    // By a few rounds of substitution.
    private double Undistorted(double s)
    {
        double free = s;
        for (int i = 0; i < 12 && Distortion != 0; i++)
            free = s / (1 + Distortion * Math.Pow(free / PxPerMm / 100, 2));
        return free;
    }

    private double Brightness(double x, double y, double pxPerMm)
    {
        // Every edge is as soft as the lens leaves it.
        double Inside(double mm) => 0.5 * (1 + Math.Tanh(mm * pxPerMm / BlurPx));
        double light = 100 + 0.1 * (x - MiddleMm);
        if (Covered is { } covered && x > covered.From && x < covered.To)
            return 60;
        double nearest = Math.Round(x / TickStepMm) * TickStepMm;
        double length = Multiple(nearest, 10) ? 8 : Multiple(nearest, 5) ? 6 : 4;
        // Blur widens a line and makes it shallower by the same factor.
        double sigma = Math.Sqrt(TickSigmaMm * TickSigmaMm + BlurPx * BlurPx / (pxPerMm * pxPerMm));
        double d = (x - nearest) / sigma;
        light *= 1 - TickDepth * TickSigmaMm / sigma * Math.Exp(-0.5 * d * d) * Inside(length - y);

        // A digit's stand-in, another one for each centimetre: a disc that moves about and grows.
        double centimetre = Math.Round(x / 10) * 10, kind = Math.Abs(centimetre / 10 % 7);
        double fromDigit = Math.Sqrt(Math.Pow(x - centimetre - 0.3 * kind + 1, 2) + Math.Pow(y - 11 - 0.2 * kind, 2));
        light *= 1 - 0.5 * Inside(0.8 + 0.1 * kind - fromDigit);
        double beyond = Math.Max(0, Math.Abs(x - MiddleMm) - StreakHalfMm);
        light += StreakLevel * Math.Exp(-0.5 * (beyond * beyond + (y - 4) * (y - 4)) / 0.81);
        double onRuler = Inside(y) * Inside(25 - y);
        return onRuler * light + (1 - onRuler) * (20 + 4 * Math.Sin(0.9 * y));
    }

    private static bool Multiple(double value, double of) => Math.Abs(value / of - Math.Round(value / of)) < 1e-6;

    private static double Gaussian(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
