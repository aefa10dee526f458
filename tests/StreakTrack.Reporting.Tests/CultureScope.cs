using System.Globalization;

namespace StreakTrack.Reporting.Tests;

/// <summary>A culture with a decimal comma, a point between thousands and another minus sign, until disposed of.</summary>
internal sealed class CultureScope : IDisposable
{
    private readonly CultureInfo _before = CultureInfo.CurrentCulture;

    public CultureScope()
    {
        // Built by hand: the machine need not have any cultures installed.
        var comma = (CultureInfo)CultureInfo.InvariantCulture.Clone();
        comma.NumberFormat.NumberDecimalSeparator = ",";
        comma.NumberFormat.NumberGroupSeparator = ".";
        comma.NumberFormat.NegativeSign = "~";
        CultureInfo.CurrentCulture = comma;
    }

    public void Dispose() => CultureInfo.CurrentCulture = _before;
}
