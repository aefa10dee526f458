using System.Buffers.Binary;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Tests.Clips;

public class LinearLightTests
{
    private static readonly ColourDescription Bt709 = new(ColourMatrix.Bt709, false, TransferFunction.Linear, true, false);

    // Codes of full red, green and blue (75 % bars would do as well) after ITU-R BT.709 and BT.601: Y = 16 + 219 Ky, C = 128 + 224 (...).
    [Theory]
    [InlineData(ColourMatrix.Bt709, 8, 63, 102, 240, 1, 0, 0)]
    [InlineData(ColourMatrix.Bt709, 8, 173, 42, 26, 0, 1, 0)]
    [InlineData(ColourMatrix.Bt709, 8, 32, 240, 118, 0, 0, 1)]
    [InlineData(ColourMatrix.Bt601, 8, 81, 90, 240, 1, 0, 0)]
    [InlineData(ColourMatrix.Bt601, 8, 145, 54, 34, 0, 1, 0)]
    [InlineData(ColourMatrix.Bt601, 8, 41, 240, 110, 0, 0, 1)]
    [InlineData(ColourMatrix.Bt2020, 10, 294, 387, 960, 1, 0, 0)]
    [InlineData(ColourMatrix.Bt709, 8, 235, 128, 128, 1, 1, 1)]
    [InlineData(ColourMatrix.Bt709, 8, 16, 128, 128, 0, 0, 0)]
    public void Primaries_come_out_of_their_published_codes(ColourMatrix matrix, int bits, int y, int cb, int cr, double red, double green, double blue)
    {
        ColourDescription colour = Bt709 with { Matrix = matrix };
        RawFrame frame = Uniform(PlaneLayout.Yuv444, bits, y, cb, cr);
        double[] expected = [red, green, blue];
        for (int i = 0; i < 3; i++)
        {
            // Codes are whole numbers, and blue differences count 1.86-fold: about one code.
            Assert.Equal(expected[i], Light(frame, colour, (LightChannel)i)[0], 1.2 / 219);
        }
    }

    [Fact]
    public void Codes_above_nominal_white_and_below_black_are_kept()
    {
        float[] light = Light(Uniform(PlaneLayout.Luma, 8, 254, 0, 0), Bt709, LightChannel.Red);
        Assert.Equal((254 - 16) / 219.0, light[0], 2e-4);
        light = Light(Uniform(PlaneLayout.Luma, 8, 5, 0, 0), Bt709, LightChannel.Luma);
        Assert.Equal((5 - 16) / 219.0, light[0], 2e-4);
    }

    [Fact]
    public void Full_range_codes_run_from_0_to_255()
    {
        ColourDescription full = Bt709 with { FullRange = true };
        Assert.Equal(1, Light(Uniform(PlaneLayout.Yuv420, 8, 255, 128, 128), full, LightChannel.Green)[0], 2e-4);
        Assert.Equal(1, Light(Uniform(PlaneLayout.Yuv420, 10, 1023, 512, 512), full, LightChannel.Green)[0], 2e-4);
        Assert.Equal(0, Light(Uniform(PlaneLayout.Yuv420, 8, 0, 128, 128), full, LightChannel.Green)[0], 2e-4);
    }

    // A straight ramp is reproduced exactly by linear interpolation, whatever the siting, provided that the places are right: so its value at
    // column x tells where the samples were thought to be.
    [Theory]
    [InlineData(PlaneLayout.Yuv420, true, 0)]
    [InlineData(PlaneLayout.Yuv420, false, 0.5)]
    [InlineData(PlaneLayout.Yuv422, true, 0)]
    [InlineData(PlaneLayout.Yuv444, true, 0)]
    public void Colour_samples_are_put_at_their_true_places(PlaneLayout layout, bool leftSited, double sitePx)
    {
        const int width = 64, height = 16;
        const double perColumn = 2, perRow = 1;
        bool halfWidth = layout != PlaneLayout.Yuv444, halfHeight = layout == PlaneLayout.Yuv420;
        RawFrame frame = Uniform(layout, 10, 64 + 438, 512, 512, width, height);
        int columns = halfWidth ? width / 2 : width, rows = halfHeight ? height / 2 : height;
        for (int j = 0; j < rows; j++)
        {
            for (int i = 0; i < columns; i++)
            {
                double x = halfWidth ? (2 * i) + sitePx : i, y = halfHeight ? (2 * j) + 0.5 : j;
                int code = 400 + (int)Math.Round((perColumn * x) + (perRow * y));
                BinaryPrimitives.WriteUInt16LittleEndian(frame.Plane2.AsSpan(2 * ((j * columns) + i)), (ushort)code);
            }
        }

        float[] light = Light(frame, Bt709 with { ChromaLeftSited = leftSited }, LightChannel.Red);
        for (int y = 2; y < height - 2; y++)
        {
            for (int x = 2; x < width - 2; x++)
            {
                double cr = (400 + (perColumn * x) + (perRow * y) - 512) / (224 * 4);
                double expected = 0.5 + (2 * (1 - 0.2126) * cr);

                // Samples are rounded to half a code; a quarter of a pixel's displacement would already be 0.5 codes in every pixel.
                Assert.Equal(expected, light[(y * width) + x], 1.6 * 0.5 / 896 + 3e-4);
            }
        }
    }

    // What a decoder that takes everything for BT.601, limited range, makes of a colour, and back. The mid-grey tints stay within 0..255.
    [Theory]
    [InlineData(ColourMatrix.Bt709, false)]
    [InlineData(ColourMatrix.Bt2020, false)]
    [InlineData(ColourMatrix.Bt601, false)]
    [InlineData(ColourMatrix.Bt709, true)]
    public void Samples_decoded_with_the_wrong_matrix_are_put_right(ColourMatrix matrix, bool fullRange)
    {
        (double Red, double Green, double Blue)[] tints = [(0.6, 0.4, 0.4), (0.4, 0.55, 0.45), (0.5, 0.5, 0.7), (0.3, 0.3, 0.3)];
        (double kr, double kb) = matrix switch
        {
            ColourMatrix.Bt601 => (0.299, 0.114),
            ColourMatrix.Bt2020 => (0.2627, 0.0593),
            _ => (0.2126, 0.0722),
        };
        foreach ((double red, double green, double blue) in tints)
        {
            double y = (kr * red) + ((1 - kr - kb) * green) + (kb * blue);
            double cb = (blue - y) / (2 * (1 - kb)), cr = (red - y) / (2 * (1 - kr));
            double yCode = fullRange ? 255 * y : 16 + (219 * y);
            double cbCode = (fullRange ? 255 : 224) * cb, crCode = (fullRange ? 255 : 224) * cr;

            // ITU-R BT.601: R = 1.164 (Y - 16) + 1.596 Cr, G = ... - 0.392 Cb - 0.813 Cr, B = ... + 2.017 Cb.
            double luma = 255.0 / 219 * (yCode - 16);
            RawFrame frame = Uniform(PlaneLayout.Bgr24, 8, 0, 0, 0);
            frame.Plane0[0] = (byte)Math.Round(luma + (2.017 * cbCode));
            frame.Plane0[1] = (byte)Math.Round(luma - (0.392 * cbCode) - (0.813 * crCode));
            frame.Plane0[2] = (byte)Math.Round(luma + (1.596 * crCode));

            ColourDescription colour = Bt709 with { Matrix = matrix, FullRange = fullRange };
            double[] expected = [red, green, blue, y];
            for (int i = 0; i < expected.Length; i++)
                Assert.Equal(expected[i], Light(frame, colour, (LightChannel)i)[0], 1.2 / 255);   // three roundings to whole codes
        }
    }

    [Fact]
    public void Light_from_which_a_sample_is_clipped_lies_just_below_white()
    {
        var hlg = new LinearLight(Bt709 with { Transfer = TransferFunction.Hlg }, LightChannel.Red);
        Assert.Equal(TransferCurve.ToLight(TransferFunction.Hlg, 216.0 / 219), hlg.ClippedFrom, 1e-6);
    }

    [Theory]
    [InlineData(PlaneLayout.Yuv420, 8, true)]
    [InlineData(PlaneLayout.Yuv420, 10, false)]
    [InlineData(PlaneLayout.Yuv422, 8, false)]
    [InlineData(PlaneLayout.Yuv444, 10, true)]
    [InlineData(PlaneLayout.Bgr24, 8, true)]
    public void A_part_converts_as_it_does_within_the_whole(PlaneLayout layout, int bits, bool leftSited)
    {
        const int width = 70, height = 24;
        RawFrame frame = Uniform(layout, bits, 0, 0, 0, width, height);
        var random = new Random(1);
        foreach (byte[] plane in new[] { frame.Plane0, frame.Plane1, frame.Plane2 })
        {
            for (int i = 0; i < plane.Length; i++)
                plane[i] = (byte)(bits > 8 && i % 2 == 1 ? random.Next(4) : random.Next(256));
        }

        ColourDescription colour = Bt709 with { ChromaLeftSited = leftSited };
        float[] whole = Light(frame, colour, LightChannel.Green);
        var part = new PixelRegion(6, 5, 47, 13);
        float[] light = new float[part.Width * part.Height];
        new LinearLight(colour, LightChannel.Green).Convert(frame, part, light);
        for (int y = 0; y < part.Height; y++)
        {
            for (int x = 0; x < part.Width; x++)
                Assert.Equal(whole[((part.Y + y) * width) + part.X + x], light[(y * part.Width) + x], 3e-4);   // one step of the table
        }
    }

    [Fact]
    public void A_buffer_that_is_too_short_is_refused() => Assert.Throws<ArgumentOutOfRangeException>(
        () => new LinearLight(Bt709, LightChannel.Red).Convert(Uniform(PlaneLayout.Luma, 8, 0, 0, 0), new float[3]));

    private static float[] Light(RawFrame frame, ColourDescription colour, LightChannel channel)
    {
        float[] light = new float[frame.Region.Width * frame.Region.Height];
        new LinearLight(colour, channel).Convert(frame, light);
        return light;
    }

    private static RawFrame Uniform(PlaneLayout layout, int bits, int y, int cb, int cr, int width = 4, int height = 2)
    {
        var frame = new RawFrame { Region = new PixelRegion(0, 0, width, height), Layout = layout, BitDepth = bits };
        int colour = layout switch
        {
            PlaneLayout.Yuv420 => width / 2 * (height / 2),
            PlaneLayout.Yuv422 => width / 2 * height,
            PlaneLayout.Yuv444 => width * height,
            _ => 0,
        };
        frame.Plane0 = Plane(width * height * (layout == PlaneLayout.Bgr24 ? 3 : 1), y);
        frame.Plane1 = Plane(colour, cb);
        frame.Plane2 = Plane(colour, cr);
        return frame;

        byte[] Plane(int count, int code)
        {
            byte[] plane = new byte[bits > 8 ? 2 * count : count];
            for (int i = 0; i < plane.Length; i++)
                plane[i] = (byte)(bits > 8 && i % 2 == 1 ? code >> 8 : code);
            return plane;
        }
    }
}
