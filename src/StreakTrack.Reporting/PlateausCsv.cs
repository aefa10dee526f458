using System.Globalization;
using System.Text;
using StreakTrack.Core.Records;

namespace StreakTrack.Reporting;

/// <summary>The steps of a sweep as a table that a resonance study takes as it is.</summary>
internal static class PlateausCsv
{
    /// <summary>RFC 4180; steps without an amplitude are left out, because a table of points has nothing to say of them.</summary>
    public static string Write(SweepRecord sweep)
    {
        var text = new StringBuilder("frequency_hz,amplitude_mm,amplitude_u_mm,mean_mm,start_s,start_u_s,end_s,frames,transient_mm,flags\r\n");
        foreach (PlateauRecord p in sweep.Plateaus.Where(p => p.AmplitudeMm is not null))
        {
            text.Append(CultureInfo.InvariantCulture,
                $"{p.FrequencyHz},{p.AmplitudeMm},{p.AmplitudeUncertaintyMm},{p.MeanMm},{p.StartS},{p.StartUncertaintyS},{p.EndS},{p.Points},{p.TransientMm},{(p.Settled ? "" : "Unsettled")}\r\n");
        }

        return text.ToString();
    }
}
