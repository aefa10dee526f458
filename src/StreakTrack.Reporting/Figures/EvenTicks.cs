using System.Globalization;
using ScottPlot;
using ScottPlot.TickGenerators;

namespace StreakTrack.Reporting.Figures;

/// <summary>Evenly spaced ticks whose numbers all have the same count of decimals (2.10, 2.12), a real minus sign and a decimal
/// point.</summary>
internal sealed class EvenTicks : ITickGenerator
{
    private readonly NumericAutomatic _places;

    /// <summary>Ticks of a density.</summary>
    /// <param name="density">1 puts them as close as the numbers allow.</param>
    public EvenTicks(double density) => _places = new NumericAutomatic
    {
        TickDensity = density,
        MinorTickGenerator = new EvenlySpacedMinorTickGenerator(1),
        LabelFormatter = v => v.ToString("0.######", CultureInfo.InvariantCulture),
    };

    /// <inheritdoc/>
    public Tick[] Ticks { get; private set; } = [];

    /// <inheritdoc/>
    public int MaxTickCount { get => _places.MaxTickCount; set => _places.MaxTickCount = value; }

    /// <inheritdoc/>
    public void Regenerate(CoordinateRange range, Edge edge, PixelLength size, Paint paint, LabelStyle labelStyle)
    {
        _places.Regenerate(range, edge, size, paint, labelStyle);
        Tick[] major = [.. _places.Ticks.Where(t => t.IsMajor)];
        double step = major.Length > 1 ? Math.Abs(major[1].Position - major[0].Position) : 1;
        Ticks = [.. _places.Ticks.Select(t => t.IsMajor ? Tick.Major(t.Position, Label(t.Position, step)) : t)];
    }

    /// <summary>The number at a tick, with as many decimals as the step needs.</summary>
    /// <param name="value">Place of the tick.</param>
    /// <param name="step">Distance between ticks, positive.</param>
    public static string Label(double value, double step)
    {
        if (Math.Max(Math.Abs(value), step) >= 1e6 || step < 1e-6)
            return Signed(value.ToString("0.###e0", CultureInfo.InvariantCulture));

        // 0.25 needs two decimals although its power of ten asks for one.
        int decimals = Enumerable.Range(0, 8).First(d => d == 7 || Math.Abs(Math.Round(step, d) - step) < 1e-6 * step);
        string format = "F" + decimals.ToString(CultureInfo.InvariantCulture);
        string text = Math.Round(value, decimals).ToString(format, CultureInfo.InvariantCulture);
        return Signed(text.TrimStart('-').All(c => c is '0' or '.') ? text.TrimStart('-') : text);
    }

    private static string Signed(string text) => text.Replace('-', '\u2212');
}
