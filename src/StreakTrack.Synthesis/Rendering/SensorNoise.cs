using System.Numerics;
using StreakTrack.Imaging.Clips;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Rendering;

/// <summary>Makes codes of light: shot and read noise, clipping, transfer function, rounding to 8 bits.</summary>
/// <remarks>Normal numbers come from a table that each row of each frame enters at a place of its own: the same table row beside the same
/// pixels does not come back, and looking up costs a hundredth of drawing.</remarks>
internal sealed class SensorNoise
{
    private const int TableSize = 1 << 20;
    private const int CodeSteps = 1 << 16;

    private readonly Lazy<float[]> _normal;
    private readonly byte[] _codes;
    private readonly SeededRandom _offsets;
    private readonly float _shotVariance, _readVariance;

    public SensorNoise(ClipScenario scenario)
    {
        CameraSettings camera = scenario.Camera;
        _offsets = new SeededRandom(scenario.Seed, RandomStream.NoiseOffsets);
        _shotVariance = (float)(1 / camera.FullWellElectrons);
        double read = camera.ReadNoiseElectrons / camera.FullWellElectrons;
        _readVariance = (float)(read * read);
        _normal = new Lazy<float[]>(() => NormalTable(scenario.Seed));

        _codes = new byte[CodeSteps + 1];
        for (int i = 0; i <= CodeSteps; i++)
            _codes[i] = (byte)Math.Round(255 * Code(camera.Transfer, (double)i / CodeSteps));
    }

    /// <summary>The signal from 0 to 1 of linear light from 0 to 1.</summary>
    /// <remarks>ITU-R BT.709-6 item 1.2 and IEC 61966-2-1.</remarks>
    public static double Code(TransferFunction transfer, double light) => transfer switch
    {
        TransferFunction.Bt709 => light < 0.018 ? 4.5 * light : 1.099 * Math.Pow(light, 0.45) - 0.099,
        TransferFunction.Srgb => light <= 0.0031308 ? 12.92 * light : 1.055 * Math.Pow(light, 1 / 2.4) - 0.055,
        _ => light,
    };

    /// <summary>The codes of one frame, blue, green, red interleaved.</summary>
    /// <param name="frame">Number of the frame, from 0.</param>
    /// <param name="gain">Amplification beside that of the clip's start; noise in electrons grows beside the light.</param>
    /// <param name="picture">The light.</param>
    /// <param name="bgr">Where the codes go: 3 bytes a pixel.</param>
    public void Develop(int frame, double gain, LinearPicture picture, Span<byte> bgr)
    {
        int width = picture.Width;
        Span<float> values = new float[width];
        float[][] planes = [picture.Blue, picture.Green, picture.Red];
        var shot = (float)(_shotVariance * gain);
        var read = (float)(_readVariance * gain * gain);
        for (int v = 0; v < picture.Height; v++)
        {
            for (int channel = 0; channel < 3; channel++)
            {
                ulong bits = _offsets.Bits(((long)frame * picture.Height + v) * 3 + channel);
                int offset = (int)(bits % (ulong)(TableSize - width));
                AddNoise(planes[channel].AsSpan(v * width, width), _normal.Value.AsSpan(offset, width), shot, read, values);
                Span<byte> row = bgr.Slice(v * width * 3, width * 3);
                for (int u = 0, target = channel; u < width; u++, target += 3)
                    row[target] = _codes[(int)values[u]];
            }
        }
    }

    private static float[] NormalTable(int seed)
    {
        var table = new float[TableSize];
        var random = new SeededRandom(seed, RandomStream.NoiseTable);
        Parallel.For(0, TableSize / 4096, block =>
        {
            for (int i = block * 4096; i < (block + 1) * 4096; i++)
                table[i] = (float)random.Normal(i);
        });
        return table;
    }

    private static void AddNoise(ReadOnlySpan<float> light, ReadOnlySpan<float> normal, float shot, float read, Span<float> values)
    {
        int i = 0;
        Vector<float> zero = Vector<float>.Zero, full = new(CodeSteps), half = new(0.5f);
        var shots = new Vector<float>(shot);
        var reads = new Vector<float>(read);
        for (; i <= light.Length - Vector<float>.Count; i += Vector<float>.Count)
        {
            Vector<float> level = Vector.Max(new Vector<float>(light[i..]), zero);
            Vector<float> noisy = level + Vector.SquareRoot(level * shots + reads) * new Vector<float>(normal[i..]);
            Vector.Min(Vector.Max(noisy * full + half, zero), full).CopyTo(values[i..]);
        }

        for (; i < light.Length; i++)
        {
            float level = Math.Max(light[i], 0), noisy = level + MathF.Sqrt(level * shot + read) * normal[i];
            values[i] = Math.Min(Math.Max(noisy * CodeSteps + 0.5f, 0), CodeSteps);
        }
    }
}
