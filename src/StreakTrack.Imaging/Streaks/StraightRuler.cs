using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Places along a strip as they would lie if the ruler were seen straight on: as many px for each millimetre everywhere as in the middle of
/// the marks.</summary>
/// <remarks>
/// A swing is harmonic in millimetres. Seen aslant one half of it is shorter than the other, and the middle between its ends moves with the square of its
/// amplitude, which matters where single arcs are put into the swing that they belong to.
/// </remarks>
internal sealed class StraightRuler
{
    /// <summary>Most that the px for a millimetre may differ between a place and the middle of the marks: beyond that the scale is extrapolated too
    /// far.</summary>
    private const double LargestStretch = 2.5;

    /// <summary>A strip of fewer px has no bend to speak of.</summary>
    private const int ShortestPx = 16;

    /// <summary>Displacement, in px, up to which a ruler is straight enough.</summary>
    private const double LeastBendPx = 0.5;

    /// <summary>Power of the length of a millimetre, in px, with which perspective changes a profile's brightness. A ruler is as bright wherever it is seen
    /// from, and light is what the streak's pixels across sum up to; its width goes with the root of a millimetre's length, because that is shortened twice, and
    /// what least squares of a shape of one width make of another goes with the root of the width.</summary>
    private const double BrightnessPower = 0.25;

    // For each straightened place the strip place, and how much brighter than in the middle the same light is there.
    private readonly double[] _strip;
    private readonly float[] _brightness;

    private StraightRuler(double[] strip)
    {
        _strip = strip;
        _brightness = new float[strip.Length];
        for (int i = 0; i < strip.Length; i++)
        {
            int before = Math.Max(0, i - 1), after = Math.Min(strip.Length - 1, i + 1);
            _brightness[i] = (float)Math.Pow((strip[after] - strip[before]) / (after - before), BrightnessPower);
        }
    }

    /// <summary>Straightened places, one each px.</summary>
    public int Length => _strip.Length;

    /// <summary>The straightening of a strip; null where it is straight enough, or the scale does not reach over it.</summary>
    /// <param name="scale">The ruler's scale.</param>
    /// <param name="band">The strip.</param>
    public static StraightRuler? Of(RulerScale scale, StripGeometry band)
    {
        if (band.LengthPx < ShortestPx)
            return null;
        double middle = scale.MiddleReadingMm, mmPerPx = scale.MiddleMillimetresPerPixel;
        double[] straight = [.. Enumerable.Range(0, band.LengthPx).Select(s => (scale.ReadingMmAt(band.ToDisplay(s, 0)) - middle) / mmPerPx)];
        for (int s = 1; s < straight.Length; s++)
        {
            if (!(straight[s] - straight[s - 1] is > 1 / LargestStretch and < LargestStretch))
                return null;
        }

        // Against the line through both ends.
        double rate = (straight[^1] - straight[0]) / (straight.Length - 1);
        if (straight.Select((x, s) => Math.Abs(x - straight[0] - (rate * s))).Max() < LeastBendPx)
            return null;

        double[] strip = new double[(int)Math.Floor(straight[^1] - straight[0]) + 1];
        for (int i = 0, s = 0; i < strip.Length; i++)
        {
            double x = straight[0] + i;
            while (s + 2 < straight.Length && straight[s + 1] < x)
                s++;
            strip[i] = s + ((x - straight[s]) / (straight[s + 1] - straight[s]));
        }

        return new StraightRuler(strip);
    }

    /// <summary>The strip place of a straightened one.</summary>
    public double ToStrip(double place)
    {
        int i = Math.Clamp((int)Math.Floor(place), 0, _strip.Length - 2);
        return _strip[i] + ((place - i) * (_strip[i + 1] - _strip[i]));
    }

    /// <summary>Carries a profile to straightened places, at which equal light is equally bright.</summary>
    /// <param name="profile">Light at each px of the strip.</param>
    /// <param name="straightened">Receives the light at each straightened place; NaN where the strip has none.</param>
    public void Straighten(ReadOnlySpan<float> profile, Span<float> straightened)
    {
        for (int i = 0; i < _strip.Length; i++)
        {
            int s = Math.Clamp((int)_strip[i], 0, profile.Length - 2);
            float share = (float)(_strip[i] - s);
            straightened[i] = (((1 - share) * profile[s]) + (share * profile[s + 1])) / _brightness[i];
        }
    }
}
