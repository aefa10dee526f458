using System.Globalization;
using System.Text;
using StreakTrack.Core.References;

namespace StreakTrack.Reporting.References;

/// <summary>The decay curves of a reference with their tolerance as CSV (RFC 4180), to be plotted beside a measurement.</summary>
internal static class ReferenceBandCsv
{
    private const int Steps = 60;

    /// <summary>The table.</summary>
    public static string Write(InstrumentReference reference)
    {
        var text = new StringBuilder("setting,time_s,amplitude_ratio,amplitude_ratio_low,amplitude_ratio_high\r\n");
        foreach (ReferenceSetting s in reference.Settings)
        {
            for (int i = 0; i <= Steps; i++)
            {
                double t = ReferenceDecay.DecayTimesShown * s.TauS.Value * i / Steps;
                text.Append(CultureInfo.InvariantCulture,
                    $"{s.Setting},{t:0.#####},{ReferenceDecay.At(t, s.TauS.Value):0.######},{ReferenceDecay.At(t, s.ToleranceTauS[0]):0.######},{ReferenceDecay.At(t, s.ToleranceTauS[1]):0.######}\r\n");
            }
        }

        return text.ToString();
    }
}
