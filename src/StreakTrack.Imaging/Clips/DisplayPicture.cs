using OpenCvSharp;

namespace StreakTrack.Imaging.Clips;

/// <summary>Makes small and quick pictures for a screen: as <see cref="FramePicture"/>, but many a second.</summary>
public static class DisplayPicture
{
    /// <summary>A JPEG picture of a whole frame, turned for display.</summary>
    /// <param name="frame">The frame.</param>
    /// <param name="colour">How its samples are coded.</param>
    /// <param name="orientation">How the clip is turned for display.</param>
    /// <param name="maxWidthPx">Largest width of the result, at least 16; larger frames are averaged down.</param>
    /// <param name="quality">JPEG quality, 1 to 100.</param>
    /// <exception cref="MissingComponentException">A library of the system's is missing.</exception>
    public static byte[] ToJpeg(RawFrame frame, ColourDescription colour, DisplayOrientation orientation, int maxWidthPx, int quality = 85)
    {
        using Mat picture = ToBgr(frame, colour, orientation, maxWidthPx);
        return Jpeg(picture, quality);
    }

    internal static byte[] Jpeg(Mat picture, int quality) => picture.ImEncode(".jpg", [(int)ImwriteFlags.JpegQuality, quality]);

    /// <summary>A frame as blue, green and red of 8 bits, turned for display.</summary>
    internal static Mat ToBgr(RawFrame frame, ColourDescription colour, DisplayOrientation orientation, int maxWidthPx)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(maxWidthPx, 16);
        _ = EmbeddedDecoder.Version;   // says what is missing, where the library cannot be loaded
        DisplayOrientation turn = orientation with { CodedWidth = frame.Region.Width, CodedHeight = frame.Region.Height };
        double scale = Math.Min(1, maxWidthPx / (double)turn.DisplayWidth);
        var size = new Size(
            Math.Max(1, (int)Math.Round(frame.Region.Width * scale)), Math.Max(1, (int)Math.Round(frame.Region.Height * scale)));
        using Mat coded = frame.Layout == PlaneLayout.Bgr24 ? FromBgr(frame, colour, size) : FromPlanes(frame, colour, size);
        return Turned(coded, turn);
    }

    private static Mat FromBgr(RawFrame frame, ColourDescription colour, Size size)
    {
        using Mat small = Scaled(frame.Plane0, frame.Region.Width, frame.Region.Height, MatType.CV_8UC3, size);
        double[,] weights = new double[3, 4];
        for (int row = 0; row < 3; row++)
        {
            (double r, double g, double b, double offset) = ColourWeights.Repair(colour.Matrix, colour.FullRange, ChannelOfRow(row));
            (weights[row, 0], weights[row, 1], weights[row, 2], weights[row, 3]) = (b, g, r, 255 * offset);
        }

        return Transformed(small, weights);
    }

    private static Mat FromPlanes(RawFrame frame, ColourDescription colour, Size size)
    {
        int width = frame.Region.Width, height = frame.Region.Height;
        MatType type = frame.BitDepth > 8 ? MatType.CV_16UC1 : MatType.CV_8UC1;
        double codes = 1 << (frame.BitDepth - 8);   // codes a step of 8 bits
        bool coloured = frame.Plane1.Length > 0;
        int colourWidth = frame.Layout is PlaneLayout.Yuv420 or PlaneLayout.Yuv422 ? (width + 1) / 2 : width;
        int colourHeight = frame.Layout == PlaneLayout.Yuv420 ? (height + 1) / 2 : height;
        using Mat luma = To8Bits(Scaled(frame.Plane0, width, height, type, size), codes);
        using Mat blue = coloured ? To8Bits(Scaled(frame.Plane1, colourWidth, colourHeight, type, size), codes) : Even(size);
        using Mat red = coloured ? To8Bits(Scaled(frame.Plane2, colourWidth, colourHeight, type, size), codes) : Even(size);
        using var merged = new Mat();
        Cv2.Merge([luma, blue, red], merged);

        double gainY = colour.FullRange ? 1 : 255.0 / 219, gainC = colour.FullRange ? 1 : 255.0 / 224, black = colour.FullRange ? 0 : 16;
        double[,] weights = new double[3, 4];
        for (int row = 0; row < 3; row++)
        {
            (double y, double cb, double cr) = ColourWeights.Decoding(colour.Matrix, ChannelOfRow(row));
            (weights[row, 0], weights[row, 1], weights[row, 2]) = (y * gainY, cb * gainC, cr * gainC);
            weights[row, 3] = -(weights[row, 0] * black) - (128 * (weights[row, 1] + weights[row, 2]));
        }

        return Transformed(merged, weights);
    }

    private static LightChannel ChannelOfRow(int row) => row switch { 0 => LightChannel.Blue, 1 => LightChannel.Green, _ => LightChannel.Red };

    private static Mat Transformed(Mat picture, double[,] weights)
    {
        using Mat matrix = Mat.FromArray(weights);
        var result = new Mat();
        Cv2.Transform(picture, result, matrix);
        return result;
    }

    private static Mat Scaled(byte[] samples, int width, int height, MatType type, Size size)
    {
        using Mat whole = Mat.FromPixelData(height, width, type, samples);
        var scaled = new Mat();
        if (whole.Size() == size)
            whole.CopyTo(scaled);
        else
            Cv2.Resize(whole, scaled, size, 0, 0, size.Width < width ? InterpolationFlags.Area : InterpolationFlags.Linear);
        return scaled;
    }

    private static Mat To8Bits(Mat plane, double codes)
    {
        if (codes > 1)
            plane.ConvertTo(plane, MatType.CV_8UC1, 1 / codes);
        return plane;
    }

    private static Mat Even(Size size) => new(size, MatType.CV_8UC1, Scalar.All(128));

    // The same turn as DisplayOrientation.ToDisplay, for whole pictures.
    private static Mat Turned(Mat coded, DisplayOrientation turn)
    {
        Mat turned = turn.SwapsAxes ? coded.Transpose() : coded.Clone();
        bool left = turn.SwapsAxes ? turn.XY < 0 : turn.XX < 0, up = turn.SwapsAxes ? turn.YX < 0 : turn.YY < 0;
        if (left || up)
            Cv2.Flip(turned, turned, left && up ? FlipMode.XY : left ? FlipMode.Y : FlipMode.X);
        return turned;
    }
}
