using ScottPlot;
using SkiaSharp;

namespace StreakTrack.Reporting.Figures;

/// <summary>The typeface of all figures: Liberation Sans, carried in the assembly, so that figures look and measure alike on every
/// machine.</summary>
/// <remarks>A bare server has no fonts at all, and there the drawing library would leave out every label without a word.</remarks>
internal sealed class FigureFont : IFontResolver
{
    /// <summary>The name under which the drawing library finds the typeface; not the name of an installed font, which could be another
    /// version.</summary>
    public const string Name = "StreakTrack figure font";

    /// <summary>The families named in SVG text: all have the widths of the embedded typeface, the last is a generic one.</summary>
    public const string SvgFamilies = "Liberation Sans, Arial, Helvetica, sans-serif";

    private static readonly FigureFont Instance = new();

    private readonly SKTypeface _typeface;

    static FigureFont() => ScottPlot.Fonts.FontResolvers.Insert(0, Instance);

    private FigureFont()
    {
        using Stream file = typeof(FigureFont).Assembly.GetManifestResourceStream("LiberationSans-Regular.ttf")
            ?? throw new InvalidOperationException("The assembly lacks its embedded typeface.");
        using SKData data = SKData.Create(file);
        _typeface = SKTypeface.FromData(data)
            ?? throw new InvalidOperationException("The embedded typeface cannot be read by the drawing library.");
    }

    /// <summary>The typeface itself; asking for it also makes it known to the drawing library.</summary>
    public static SKTypeface Typeface => Instance._typeface;

    /// <summary>Width of a text in px.</summary>
    /// <param name="text">The text.</param>
    /// <param name="sizePx">Font size in px.</param>
    public static float Measure(string text, float sizePx)
    {
        using SKFont font = new(Typeface, sizePx) { Subpixel = true, Hinting = SKFontHinting.None };
        return font.MeasureText(text);
    }

    /// <inheritdoc/>
    public SKTypeface? CreateTypeface(string fontName, FontWeight weight, FontSlant slant, FontSpacing spacing) =>
        fontName == Name ? _typeface : null;

    /// <inheritdoc/>
    public SKTypeface? CreateTypeface(string fontName, bool bold, bool italic) => fontName == Name ? _typeface : null;
}
