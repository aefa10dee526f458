using System.Globalization;

namespace StreakTrack.Core.Uncertainty;

/// <summary>
/// Writes values with their standard uncertainties as reports and the command line show them: the uncertainty with two significant
/// digits,
/// the value rounded to the same place (JCGM 100:2008, 7.2.2 and 7.2.6). Always with '.' as decimal sign.
/// </summary>
/// <remarks>
/// Numbers from a million on, below a thousandth, or whose uncertainty reaches above the units' place are written with a power of ten.
/// A value
/// whose uncertainty is not known (NaN or infinite), is zero, or lies beyond the digits of a double is given with six significant digits
/// and without an uncertainty; a NaN value reads <see cref="NotKnown"/>.
/// </remarks>
public static class Notation
{
    /// <summary>What stands for a value that is not a number.</summary>
    public const string NotKnown = "not known";

    /// <summary>Significant digits of an uncertainty.</summary>
    private const int UncertaintyDigits = 2;

    /// <summary>Significant digits of a value without a usable uncertainty.</summary>
    private const int PlainDigits = 6;

    /// <summary>More digits than these a double does not have.</summary>
    private const int MaxDigits = 15;

    /// <summary>Smallest and largest decimal exponents of numbers that are written without a power of ten.</summary>
    private const int MinPlainExponent = -3;
    private const int MaxPlainExponent = 5;

    /// <summary>Concise notation, the uncertainty in units of the last digits: <c>2.4031(57) s</c>, <c>1.2346(78) × 10⁵ Hz</c>.</summary>
    /// <param name="value">The value.</param>
    /// <param name="unit">Unit symbol; empty for a pure number.</param>
    public static string Concise(UncertainValue value, string unit = "")
    {
        Parts parts = Split(value);
        string text = parts.Uncertainty is null
            ? parts.Value
            : $"{parts.Value}({(parts.Uncertainty.StartsWith("0.", StringComparison.Ordinal)
                ? parts.Uncertainty[2..].TrimStart('0') : parts.Uncertainty)})";
        return WithUnit(parts.Power.Length == 0 ? text : $"{text} × {parts.Power}", unit, value);
    }

    /// <summary>Plus-minus notation: <c>(2.4031 ± 0.0057) s</c>, <c>173.3 ± 1.1</c>, <c>(1.2346 ± 0.0078) × 10⁵ Hz</c>.</summary>
    /// <param name="value">The value.</param>
    /// <param name="unit">Unit symbol; empty for a pure number.</param>
    public static string PlusMinus(UncertainValue value, string unit = "")
    {
        Parts parts = Split(value);
        if (parts.Uncertainty is null)
            return WithUnit(parts.Power.Length == 0 ? parts.Value : $"{parts.Value} × {parts.Power}", unit, value);

        string text = $"{parts.Value} ± {parts.Uncertainty}";
        if (parts.Power.Length > 0)
            text = $"({text}) × {parts.Power}";
        else if (unit.Length > 0)
            text = $"({text})";
        return WithUnit(text, unit, value);
    }

    /// <summary>An interval, its ends rounded to a hundredth of its width: <c>2.392 to 2.414 s</c>. An end that is not finite is
    /// open.</summary>
    /// <param name="interval">The interval.</param>
    /// <param name="unit">Unit symbol; empty for a pure number.</param>
    public static string Interval(CoverageInterval interval, string unit = "")
    {
        bool low = double.IsFinite(interval.Low);
        bool high = double.IsFinite(interval.High);
        // A quarter of the width stands for the standard uncertainty and so sets the digits.
        double width = low && high ? Math.Abs(interval.Width) / 4 : double.NaN;
        string End(double end) => WithPower(Split(new UncertainValue(end, width)));
        string text = (low, high) switch
        {
            (true, true) => $"{End(interval.Low)} to {End(interval.High)}",
            (true, false) => $"above {End(interval.Low)}",
            (false, true) => $"below {End(interval.High)}",
            _ => NotKnown,
        };
        return low || high ? WithUnit(text, unit, new UncertainValue(0, 0)) : text;

        static string WithPower(Parts parts) => parts.Power.Length == 0 ? parts.Value : $"{parts.Value} × {parts.Power}";
    }

    /// <summary>A bare number with a stated number of significant digits and no trailing exponent in E notation: <c>0.0123</c>,
    /// <c>1.23 × 10⁻⁸</c>.</summary>
    /// <param name="value">The number.</param>
    /// <param name="significantDigits">Significant digits, 1 to 15.</param>
    public static string Number(double value, int significantDigits)
    {
        if (!(significantDigits is >= 1 and <= 15))
            throw new ArgumentOutOfRangeException(nameof(significantDigits), significantDigits, "Between 1 and 15 digits can be written.");
        if (!double.IsFinite(value))
            return NotFinite(value);
        if (value == 0)
            return "0";

        int exponent = ExponentOf(value, significantDigits);
        if (exponent is >= MinPlainExponent and <= MaxPlainExponent && exponent - significantDigits + 1 <= 0)
            return Fixed(value, significantDigits - 1 - exponent);
        if (exponent is >= 0 and <= MaxPlainExponent)
            return Fixed(RoundTo(value, exponent - significantDigits + 1), 0);
        return $"{Fixed(value / Math.Pow(10, exponent), significantDigits - 1)} × {PowerOfTen(exponent)}";
    }

    /// <summary>Value and uncertainty as text, and the common power of ten, empty when there is none.</summary>
    private readonly record struct Parts(string Value, string? Uncertainty, string Power);

    private static Parts Split(UncertainValue value)
    {
        double x = value.Value;
        double u = Math.Abs(value.StandardUncertainty);
        if (!double.IsFinite(x))
            return new Parts(NotFinite(x), null, "");
        if (!double.IsFinite(u) || u == 0)
            return WithoutUncertainty(x);

        int uExponent = ExponentOf(u, UncertaintyDigits);
        // Place of the last digit: 10^last.
        int last = uExponent - UncertaintyDigits + 1;
        int top = Math.Max(uExponent, x == 0 ? int.MinValue : ExponentOf(x, Math.Max(1, ExponentOf(x, 1) - last + 1)));
        if (top - last > MaxDigits)
            return WithoutUncertainty(x);
        if (last <= 0 && top is >= MinPlainExponent and <= MaxPlainExponent)
            return new Parts(Fixed(x, -last), Fixed(u, -last), "");

        double unit = Math.Pow(10, top);
        return new Parts(Fixed(x / unit, top - last), Fixed(u / unit, top - last), PowerOfTen(top));
    }

    private static Parts WithoutUncertainty(double x)
    {
        if (x == 0)
            return new Parts("0", null, "");
        int exponent = ExponentOf(x, PlainDigits);
        if (exponent is >= MinPlainExponent and <= MaxPlainExponent)
            return new Parts(x.ToString("G" + PlainDigits, CultureInfo.InvariantCulture), null, "");
        string mantissa = (x / Math.Pow(10, exponent)).ToString("G" + PlainDigits, CultureInfo.InvariantCulture);
        return new Parts(mantissa, null, PowerOfTen(exponent));
    }

    /// <summary>Decimal exponent of the leading digit after rounding to some significant digits: 0.0996 with two is 0.10, exponent
    /// -1.</summary>
    private static int ExponentOf(double x, int significantDigits)
    {
        string text = Math.Abs(x).ToString("E" + (Math.Clamp(significantDigits, 1, 16) - 1), CultureInfo.InvariantCulture);
        return int.Parse(text.AsSpan(text.IndexOf('E') + 1), NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture);
    }

    private static string Fixed(double x, int decimals)
    {
        string text = x.ToString("F" + decimals, CultureInfo.InvariantCulture);
        // A tiny negative number rounds to "-0.00", which reads like a mistake.
        return text.StartsWith('-') && text.AsSpan(1).IndexOfAnyExcept("0.") < 0 ? text[1..] : text;
    }

    private static double RoundTo(double x, int exponent)
    {
        double unit = Math.Pow(10, exponent);
        return Math.Round(x / unit, MidpointRounding.AwayFromZero) * unit;
    }

    private static string PowerOfTen(int exponent)
    {
        const string digits = "⁰¹²³⁴⁵⁶⁷⁸⁹";
        string plain = Math.Abs(exponent).ToString(CultureInfo.InvariantCulture);
        return "10" + (exponent < 0 ? "⁻" : "") + string.Concat(plain.Select(c => digits[c - '0']));
    }

    private static string NotFinite(double x) => double.IsNaN(x) ? NotKnown : x > 0 ? "∞" : "-∞";

    private static string WithUnit(string text, string unit, UncertainValue value) =>
        unit.Length == 0 || double.IsNaN(value.Value) ? text : $"{text} {unit}";
}
