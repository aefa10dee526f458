using System.Globalization;
using StreakTrack.Core;
using StreakTrack.Core.Records;
using StreakTrack.Core.Uncertainty;

namespace StreakTrack.Reporting.Pages;

/// <summary>Numbers as the report shows them.</summary>
internal static class Numbers
{
    /// <summary>A value with its standard uncertainty and unit, the minus a real one.</summary>
    public static string PlusMinus(double value, double? standardUncertainty, string unit = "") =>
        Signed(Notation.PlusMinus(new UncertainValue(value, standardUncertainty ?? double.NaN), unit));

    /// <summary>A 95 % interval; an open end is said to be open.</summary>
    public static string Interval(IReadOnlyList<double?> ends, string unit = "") => ends.Count == 2
        ? Signed(Notation.Interval(new CoverageInterval(ends[0] ?? double.NegativeInfinity, ends[1] ?? double.PositiveInfinity), unit))
        : Notation.NotKnown;

    /// <summary>A number with a count of decimals; a dash for one that is missing.</summary>
    public static string Fixed(double? value, int decimals) => value is double v && double.IsFinite(v)
        ? Signed(v.ToString("F" + decimals.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture))
        : "–";

    /// <summary>A number with at most a count of significant digits, very large and small ones with a power of ten; a dash for one that is
    /// missing.</summary>
    public static string Significant(double? value, int digits) => value is double v && double.IsFinite(v)
        ? Signed(v == 0 || Math.Abs(v) is >= 1e-4 and < 1e7
            ? v.ToString("G" + digits.ToString(CultureInfo.InvariantCulture), CultureInfo.InvariantCulture)
            : Notation.Number(v, digits))
        : "–";

    /// <summary>The numbers of a table's column, all with the same count of decimals; a dash for a missing one.</summary>
    /// <param name="values">The numbers.</param>
    /// <param name="digits">Significant digits of the largest; trailing zeros that all numbers share are left out.</param>
    public static IReadOnlyList<string> Column(IReadOnlyList<double> values, int digits)
    {
        double[] finite = [.. values.Where(double.IsFinite).Select(Math.Abs)];
        double largest = finite.DefaultIfEmpty(0).Max();
        int most = largest > 0 ? Math.Clamp(digits - 1 - (int)Math.Floor(Math.Log10(largest)), 0, 12) : 0;

        // Numbers that were given with fewer decimals are not shown with more.
        int decimals = Enumerable.Range(0, most + 1).First(d => d == most
            || finite.All(v => Math.Abs(Math.Round(v, d) - v) < 0.5 * Math.Pow(10, -most - 3)));
        return [.. values.Select(v => Fixed(v, decimals))];
    }

    /// <summary>A whole number, in groups of three.</summary>
    public static string Count(long value) => value.ToString("N0", CultureInfo.InvariantCulture).Replace(',', '\u202F');

    /// <summary>A file's size.</summary>
    public static string Bytes(long bytes) => bytes < 1_000_000 ? $"{Fixed(bytes / 1e3, 1)} kB" : $"{Fixed(bytes / 1e6, 1)} MB";

    /// <summary>A fit parameter with its uncertainty.</summary>
    public static string Parameter(ParameterRecord parameter, string unit) =>
        PlusMinus(parameter.Value, parameter.StandardUncertainty, unit);

    private static string Signed(string text)
    {
        // Only a hyphen that starts a number is a minus; exponents of the form 1E-05 included.
        char[] letters = text.ToCharArray();
        for (int i = 0; i + 1 < letters.Length; i++)
        {
            if (letters[i] == '-' && (char.IsAsciiDigit(letters[i + 1]) || letters[i + 1] == '∞'))
                letters[i] = '\u2212';
        }

        return new string(letters);
    }
}
