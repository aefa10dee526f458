using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Rendering;

/// <summary>What does not change over a clip: the room's light on ruler and background, and how much laser light each pixel would send
/// back. Painted once.</summary>
internal sealed class StaticScene
{
    /// <summary>Points a pixel's side is divided into: the lens blurs before the pixels sample, so the blur needs more points than
    /// pixels.</summary>
    private const int Subdivision = 3;

    /// <summary>The room lamps' light of a white surface in red, green and blue: slightly warm.</summary>
    internal static readonly double[] RoomTint = [1, 0.96, 0.88];

    /// <summary>Colour of the bench behind the ruler, in red, green and blue.</summary>
    private static readonly double[] BenchTint = [1, 0.9, 0.78];

    public StaticScene(ClipScenario scenario, CameraGeometry geometry, double[] laserTint)
    {
        int width = scenario.Camera.WidthPx, height = scenario.Camera.HeightPx;
        float[] ruler = new float[width * height], bench = new float[width * height];
        PaintReflectance(scenario, geometry, ruler, bench);

        Light = new LinearPicture(width, height);
        LaserReflectance = new float[width * height];
        float[] speckle = Speckle(scenario, width, height);
        double halfWidth = width / 2.0, halfHeight = height / 2.0, diagonalSquared = halfWidth * halfWidth + halfHeight * halfHeight;
        for (int v = 0; v < height; v++)
        {
            for (int u = 0; u < width; u++)
            {
                int i = v * width + u;
                double right = (u - halfWidth + 0.5) / halfWidth, down = (v - halfHeight + 0.5) / halfHeight;
                double falloff = 1 - scenario.Camera.Vignetting
                    * (right * right * halfWidth * halfWidth + down * down * halfHeight * halfHeight) / diagonalSquared;
                double light = scenario.Scene.AmbientLevel * falloff
                    * Math.Max(0, 1 + scenario.Scene.GradientAlong * right) * Math.Max(0, 1 + scenario.Scene.GradientAcross * down);
                Light.Red[i] = (float)(light * RoomTint[0] * (ruler[i] + BenchTint[0] * bench[i]));
                Light.Green[i] = (float)(light * RoomTint[1] * (ruler[i] + BenchTint[1] * bench[i]));
                Light.Blue[i] = (float)(light * RoomTint[2] * (ruler[i] + BenchTint[2] * bench[i]));
                LaserReflectance[i] = (float)(falloff * (ruler[i] + bench[i]) * speckle[i]);
            }
        }

        if (scenario.Scene.Lamp is { } lamp)
            AddLamp(lamp, laserTint);
    }

    /// <summary>Light of the room on ruler and bench, and of a lamp in the picture, at the clip's first exposure.</summary>
    public LinearPicture Light { get; }

    /// <summary>Share of the laser light that comes back from each pixel.</summary>
    public float[] LaserReflectance { get; }

    private static void PaintReflectance(ClipScenario scenario, CameraGeometry geometry, float[] ruler, float[] bench)
    {
        int width = scenario.Camera.WidthPx, height = scenario.Camera.HeightPx;
        if (scenario.Ruler.Kind == RulerKind.Card)
        {
            Array.Fill(ruler, 1f);
            return;
        }

        var surface = new RulerSurface(scenario.Ruler, scenario.Seed);
        var grain = new LatticeNoise(scenario.Seed, RandomStream.BackgroundTexture);
        float[] kernel = PixelKernel(scenario.Camera.PsfSigmaPx);
        int fineRows = height * Subdivision, fineColumns = width * Subdivision;
        float[] rulerRows = new float[fineRows * width], benchRows = new float[fineRows * width];
        Parallel.For(0, fineRows, () => (Ruler: new float[fineColumns], Bench: new float[fineColumns]), (row, _, line) =>
        {
            double v = (row + 0.5) / Subdivision - 0.5;
            for (int column = 0; column < fineColumns; column++)
            {
                double u = (column + 0.5) / Subdivision - 0.5;
                (double x, double y) = geometry.ToRulerMm(u, v);
                bool onRuler = surface.Contains(x, y);
                line.Ruler[column] = onRuler ? (float)surface.Reflectance(x, y, Footprint(geometry, u, v, x, y)) : 0;
                line.Bench[column] = onRuler ? 0 : (float)Bench(grain, x, y, scenario.Scene.BackgroundReflectance, surface);
            }

            PlaneFilter.Decimate(line.Ruler, kernel, Subdivision, rulerRows.AsSpan(row * width, width));
            PlaneFilter.Decimate(line.Bench, kernel, Subdivision, benchRows.AsSpan(row * width, width));
            return line;
        }, _ => { });
        PlaneFilter.DecimateRows(rulerRows, kernel, Subdivision, width, ruler);
        PlaneFilter.DecimateRows(benchRows, kernel, Subdivision, width, bench);
    }

    /// <summary>Wood grain along the bench, and the ruler's soft shadow beside its edges.</summary>
    private static double Bench(LatticeNoise grain, double xMm, double yMm, double reflectance, RulerSurface surface)
    {
        double wood = 1 + 0.35 * grain.At(xMm / 60, yMm / 3.5) + 0.12 * grain.At(xMm / 14 + 300, yMm / 0.9);
        return reflectance * wood * (1 - 0.55 * Math.Exp(-surface.DistanceFromEdge(yMm) / 1.3));
    }

    /// <summary>Distance on the ruler between neighbouring fine points.</summary>
    private static double Footprint(CameraGeometry geometry, double u, double v, double x, double y)
    {
        (double besideX, double besideY) = geometry.ToRulerMm(u + 1.0 / Subdivision, v);
        return Math.Sqrt((besideX - x) * (besideX - x) + (besideY - y) * (besideY - y));
    }

    /// <summary>What a pixel collects from the fine points about it: the lens's blur and the pixel's own width.</summary>
    private static float[] PixelKernel(double psfSigmaPx)
    {
        float[] blur = psfSigmaPx > 0 ? PlaneFilter.GaussianKernel(psfSigmaPx * Subdivision) : [1];
        var kernel = new float[blur.Length + Subdivision - 1];
        for (int i = 0; i < blur.Length; i++)
        {
            for (int k = 0; k < Subdivision; k++)
                kernel[i + k] += blur[i] / Subdivision;
        }

        return kernel;
    }

    private static float[] Speckle(ClipScenario scenario, int width, int height)
    {
        var pattern = new float[width * height];
        double contrast = scenario.Laser.SpeckleContrast;
        if (contrast == 0)
        {
            Array.Fill(pattern, 1f);
            return pattern;
        }

        var random = new SeededRandom(scenario.Seed, RandomStream.Speckle);
        Parallel.For(0, pattern.Length / 4096 + 1, block =>
        {
            for (int i = block * 4096; i < Math.Min(pattern.Length, (block + 1) * 4096); i++)
                pattern[i] = (float)random.Normal(i);
        });

        // Grains of about a pixel; the blur takes a known share of the contrast, which is put back.
        const double GrainSigmaPx = 0.8;
        float[] kernel = PlaneFilter.GaussianKernel(GrainSigmaPx);
        double left = kernel.Sum(k => (double)k * k);
        float[] grains = PlaneFilter.Blur(pattern, width, height, GrainSigmaPx);
        for (int i = 0; i < grains.Length; i++)
            grains[i] = (float)Math.Max(0, 1 + contrast / left * grains[i]);
        return grains;
    }

    private void AddLamp(StaticLamp lamp, double[] tint)
    {
        double middleU = lamp.ColumnShare * (Light.Width - 1), middleV = lamp.RowShare * (Light.Height - 1);
        for (int v = 0; v < Light.Height; v++)
        {
            for (int u = 0; u < Light.Width; u++)
            {
                double du = (u - middleU) / lamp.SigmaPx, dv = (v - middleV) / lamp.SigmaPx;
                double light = lamp.Level * Math.Exp(-0.5 * (du * du + dv * dv));
                Light.Red[v * Light.Width + u] += (float)(light * tint[0]);
                Light.Green[v * Light.Width + u] += (float)(light * tint[1]);
                Light.Blue[v * Light.Width + u] += (float)(light * tint[2]);
            }
        }
    }
}
