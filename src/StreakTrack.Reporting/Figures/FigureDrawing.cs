using System.Text;
using ScottPlot;
using SkiaSharp;

namespace StreakTrack.Reporting.Figures;

/// <summary>Turns panels into a figure.</summary>
internal static class FigureDrawing
{
    /// <summary>Width of every figure, in px of the drawing.</summary>
    public const int WidthPx = 760;

    /// <summary>PNG pixels for each px of the drawing.</summary>
    private const int PngScale = 2;

    /// <summary>Draws panels above one another.</summary>
    /// <param name="name">Stem of the file names.</param>
    /// <param name="title">Short title.</param>
    /// <param name="description">What is shown, for readers who cannot see it.</param>
    /// <param name="caption">The text under the figure.</param>
    /// <param name="panels">The panels from top to bottom; they are disposed of.</param>
    public static Figure Draw(string name, string title, string description, string caption, params Panel[] panels)
    {
        int heightPx = panels.Sum(p => p.HeightPx);
        try
        {
            // The picture comes first: on its first rendering a plot lays itself out and draws twice, which would double the SVG.
            byte[] png = DrawPng(panels, heightPx);
            string svg = SvgClean.Tidy(DrawSvg(panels, heightPx), name, title, description);
            return new Figure(name, title, description, caption, svg, png);
        }
        finally
        {
            foreach (Panel panel in panels)
                panel.Dispose();
        }
    }

    private static string DrawSvg(Panel[] panels, int heightPx)
    {
        using MemoryStream stream = new();
        using (SKCanvas canvas = SKSvgCanvas.Create(new SKRect(0, 0, WidthPx, heightPx), stream))
            Render(panels, canvas);
        return Encoding.UTF8.GetString(stream.ToArray());
    }

    private static byte[] DrawPng(Panel[] panels, int heightPx)
    {
        using SKBitmap bitmap = new(WidthPx * PngScale, heightPx * PngScale, SKColorType.Rgba8888, SKAlphaType.Premul);
        using (SKCanvas canvas = new(bitmap))
        {
            canvas.Clear(SKColors.White);
            canvas.Scale(PngScale);
            Render(panels, canvas);
        }

        using SKData png = bitmap.Encode(SKEncodedImageFormat.Png, 100);
        return png.ToArray();
    }

    private static void Render(Panel[] panels, SKCanvas canvas)
    {
        float top = 0;
        foreach (Panel panel in panels)
        {
            panel.Plot.Render(canvas, new PixelRect(0, WidthPx, top + panel.HeightPx, top));
            top += panel.HeightPx;
        }
    }
}
