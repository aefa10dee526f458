namespace StreakTrack.Imaging.Clips;

/// <summary>The functions between light and code, inverted.</summary>
/// <remarks>Constants: ITU-R BT.709 and BT.2020, IEC 61966-2-1, ITU-R BT.2100. Negative codes are mirrored, so that noise around black
/// keeps its mean.</remarks>
public static class TransferCurve
{
    /// <summary>Light for a code value, both relative to nominal white.</summary>
    /// <param name="transfer">The curve.</param>
    /// <param name="code">Code, 0 to 1 nominally; values outside are continued.</param>
    public static double ToLight(TransferFunction transfer, double code)
    {
        if (code < 0)
            return -ToLight(transfer, -code);

        const double alpha = 1.09929682680944;
        const double hlgA = 0.17883277, hlgB = 0.28466892, hlgC = 0.55991073;
        const double pqM1 = 2610.0 / 16384, pqM2 = 2523.0 / 4096 * 128, pqC1 = 3424.0 / 4096, pqC2 = 2413.0 / 4096 * 32, pqC3 = 2392.0 / 4096 * 32;
        switch (transfer)
        {
            case TransferFunction.Bt709:
                return code < 0.081242858 ? code / 4.5 : Math.Pow((code + alpha - 1) / alpha, 1 / 0.45);
            case TransferFunction.Srgb:
                return code <= 0.04045 ? code / 12.92 : Math.Pow((code + 0.055) / 1.055, 2.4);
            case TransferFunction.Hlg:
                return code <= 0.5 ? code * code / 3 : (Math.Exp((code - hlgC) / hlgA) + hlgB) / 12;
            case TransferFunction.Pq:
                double power = Math.Pow(Math.Min(code, 1), 1 / pqM2);
                return Math.Pow(Math.Max(power - pqC1, 0) / (pqC2 - (pqC3 * power)), 1 / pqM1);
            default:
                return code;
        }
    }
}
