namespace StreakTrack.Imaging.Clips;

/// <summary>The weights between Y'CbCr and R'G'B', where black is 0, white 1 and colour differences run from -0.5 to 0.5.</summary>
/// <remarks>ITU-R BT.601, BT.709, BT.2020: Y' = Kr R' + Kg G' + Kb B', Cb = (B' - Y') / (2 (1 - Kb)), Cr = (R' - Y') / (2 (1 - Kr)).</remarks>
internal static class ColourWeights
{
    /// <summary>Share of red and blue in luma.</summary>
    public static (double Kr, double Kb) Luma(ColourMatrix matrix) => matrix switch
    {
        ColourMatrix.Bt601 => (0.299, 0.114),
        ColourMatrix.Bt2020 => (0.2627, 0.0593),
        _ => (0.2126, 0.0722),
    };

    /// <summary>Weights of Y', Cb and Cr in a channel.</summary>
    public static (double Y, double Cb, double Cr) Decoding(ColourMatrix matrix, LightChannel channel)
    {
        (double kr, double kb) = Luma(matrix);
        double kg = 1 - kr - kb;
        return channel switch
        {
            LightChannel.Red => (1, 0, 2 * (1 - kr)),
            LightChannel.Green => (1, -2 * kb * (1 - kb) / kg, -2 * kr * (1 - kr) / kg),
            LightChannel.Blue => (1, 2 * (1 - kb), 0),
            _ => (1, 0, 0),
        };
    }

    /// <summary>
    /// Weights of R', G' and B' and an offset that give a channel truly, from samples that were decoded with BT.601, limited range.
    /// </summary>
    /// <param name="matrix">The matrix that should have been used.</param>
    /// <param name="fullRange">Whether full range samples were taken for limited ones.</param>
    /// <param name="channel">The channel.</param>
    public static (double R, double G, double B, double Offset) Repair(ColourMatrix matrix, bool fullRange, LightChannel channel)
    {
        (double kr, double kb) = Luma(ColourMatrix.Bt601);
        double kg = 1 - kr - kb;
        (double y, double cb, double cr) = Decoding(matrix, channel);
        double offset = 0;
        if (fullRange)
        {
            y *= 219.0 / 255;
            cb *= 224.0 / 255;
            cr *= 224.0 / 255;
            offset = 16.0 / 255;
        }

        // The BT.601 differences put back in place: Cb = (B - Y) / (2 (1 - Kb)), Cr = (R - Y) / (2 (1 - Kr)).
        double blue = cb / (2 * (1 - kb)), red = cr / (2 * (1 - kr)), luma = y - blue - red;
        return ((luma * kr) + red, luma * kg, (luma * kb) + blue, offset);
    }
}
