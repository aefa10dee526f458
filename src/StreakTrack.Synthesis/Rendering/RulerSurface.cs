using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Rendering;

/// <summary>How much light each point of the ruler sends back.</summary>
internal sealed class RulerSurface(RulerSettings ruler, int seed)
{
    private const double InkReflectance = 0.07;

    private readonly LatticeNoise _texture = new(seed, RandomStream.RulerTexture);
    private readonly double _bodyReflectance = ruler.Kind == RulerKind.Steel ? 0.5 : 0.86;
    private readonly double _digitsTop = ruler.TenthTickLengthMm + 0.8;

    /// <summary>Whether a point lies on the ruler.</summary>
    public bool Contains(double xMm, double yMm) =>
        // A real ruler is a little longer than its scale.
        yMm >= 0 && yMm <= ruler.BreadthMm && xMm >= -5 && xMm <= ruler.LengthMm + 5;

    /// <summary>Distance of a point outside from the ruler's nearest long edge, in mm.</summary>
    public double DistanceFromEdge(double yMm) => yMm < 0 ? -yMm : Math.Max(0, yMm - ruler.BreadthMm);

    /// <summary>Reflectance at a point of the ruler, 0 to 1.</summary>
    /// <param name="xMm">Along the scale.</param>
    /// <param name="yMm">From the ticked edge.</param>
    /// <param name="footprintMm">Size of the patch that the value stands for; edges of the print are blended over it.</param>
    public double Reflectance(double xMm, double yMm, double footprintMm)
    {
        double ink = Math.Max(TickCover(xMm, yMm, footprintMm), DigitCover(xMm, yMm, footprintMm));
        double body = _bodyReflectance * (1 + ruler.Texture * Unevenness(xMm, yMm));
        return Math.Clamp(body + ink * (InkReflectance - body), 0, 1);
    }

    private double Unevenness(double xMm, double yMm)
    {
        // Brushed steel is streaky along the ruler; plastic is blotchy.
        return ruler.Kind == RulerKind.Steel
            ? 1.6 * _texture.At(xMm / 9, yMm / 0.25) + 0.8 * _texture.At(xMm / 40 + 500, yMm / 6)
            : _texture.At(xMm / 7, yMm / 5) + 0.6 * _texture.At(xMm / 1.3 + 500, yMm / 1.1);
    }

    private double TickCover(double xMm, double yMm, double footprintMm)
    {
        double number = Math.Round(xMm / ruler.TickStepMm);
        if (number < 0 || number * ruler.TickStepMm > ruler.LengthMm + 1e-9 || yMm > ruler.TenthTickLengthMm + footprintMm)
            return 0;

        double length = number % 10 == 0 ? ruler.TenthTickLengthMm
            : number % 5 == 0 ? ruler.FifthTickLengthMm : ruler.TickLengthMm;
        double across = Overlap(xMm - number * ruler.TickStepMm, ruler.TickWidthMm / 2, footprintMm);
        return across * Math.Clamp((length - yMm) / footprintMm + 0.5, 0, 1);
    }

    private double DigitCover(double xMm, double yMm, double footprintMm)
    {
        double height = ruler.DigitHeightMm;
        if (height == 0 || yMm < _digitsTop - 0.5 || yMm > _digitsTop + height + 0.5)
            return 0;

        double step = 10 * ruler.TickStepMm;
        int label = (int)Math.Round(xMm / step);
        if (label < 0 || label * step > ruler.LengthMm + 1e-9)
            return 0;

        double unit = height / StrokeFont.GridHeight;
        string digits = label.ToString(System.Globalization.CultureInfo.InvariantCulture);
        double width = (digits.Length - 1) * StrokeFont.Advance + StrokeFont.GridWidth;
        double gridX = (xMm - label * step) / unit + width / 2, gridY = (yMm - _digitsTop) / unit;
        double gap = StrokeFont.Advance - StrokeFont.GridWidth;
        int place = Math.Clamp((int)Math.Floor((gridX + gap / 2) / StrokeFont.Advance), 0, digits.Length - 1);
        double distance = StrokeFont.Distance(digits[place] - '0', gridX - place * StrokeFont.Advance, gridY) * unit;
        return Math.Clamp((0.055 * height - distance) / footprintMm + 0.5, 0, 1);
    }

    /// <summary>Share of a footprint, centred at a distance from a line's middle, that the line covers.</summary>
    private static double Overlap(double distance, double halfWidth, double footprint)
    {
        double left = Math.Max(distance - footprint / 2, -halfWidth), right = Math.Min(distance + footprint / 2, halfWidth);
        return Math.Max(0, right - left) / footprint;
    }
}
