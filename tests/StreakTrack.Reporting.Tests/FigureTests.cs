using System.Globalization;
using System.Xml.Linq;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Reporting.Figures;
using StreakTrack.Reporting.Pages;

namespace StreakTrack.Reporting.Tests;

public class FigureTests
{
    private static readonly XNamespace Svg = "http://www.w3.org/2000/svg";

    public static TheoryData<string> AllNames => [.. ReportFigures.Names];

    private static readonly IReadOnlyList<Figure> Drawn = DrawAll();

    private static Figure[] DrawAll() =>
        [.. ReportFigures.Draw(Samples.Content), .. ReportFigures.Draw(Samples.SweepContent).Where(f => f.Name == "resonance")];

    private static Figure Named(string name) => Drawn.Single(f => f.Name == name);

    private static string[] Texts(Figure figure) => [.. XElement.Parse(figure.Svg).Descendants(Svg + "text").Select(t => t.Value)];

    private static XElement[] OfClass(Figure figure, string element, string cssClass) =>
    [
        .. XElement.Parse(figure.Svg).Descendants(Svg + element)
            .Where(e => ((string?)e.Attribute("class"))?.Split(' ').Contains(cssClass) == true),
    ];

    /// <summary>The numbers of a path of straight lines: x, y, x, y, …</summary>
    private static double[] Coordinates(XElement path) =>
    [
        .. ((string)path.Attribute("d")!).Split(['M', 'L', 'Z', ' '], StringSplitOptions.RemoveEmptyEntries)
            .Select(n => double.Parse(n, CultureInfo.InvariantCulture)),
    ];

    [Fact]
    public void A_full_analysis_has_every_figure_and_a_sweep_its_resonance_curve()
    {
        Assert.Equal(ReportFigures.Names.Except(["resonance"]).Order(), ReportFigures.Draw(Samples.Content).Select(f => f.Name).Order());
        Assert.Equal(["amplitude", "calibration", "resonance"], ReportFigures.Draw(Samples.SweepContent).Select(f => f.Name).Order());
    }

    [Fact]
    public void A_sweep_is_reported_with_its_steps()
    {
        ReportContent content = Samples.SweepContent;
        string page = ReportPage.Write(content, ReportFigures.Draw(content).ToDictionary(f => f.Name));

        Assert.Contains("Resonance of an oscillator", page, StringComparison.Ordinal);
        Assert.Contains("id=\"sweep\"", page, StringComparison.Ordinal);
        Assert.DoesNotContain("No envelope could be fitted", page, StringComparison.Ordinal);
        string[] lines = PlateausCsv.Write(content.Record.Result.Sweep!).Split("\r\n", StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(6, lines.Length);
        Assert.StartsWith("frequency_hz,amplitude_mm,amplitude_u_mm,", lines[0], StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("amplitude", "amplitude / mm", "time / s", "residual / mm")]
    [InlineData("amplitude-log", "amplitude / mm", "time / s", "residual / uncertainty")]
    [InlineData("calibration", "ruler reading / mm", "residual / mm")]
    [InlineData("estimates", "amplitude from the profile / mm", "threshold \u2212 profile / mm")]
    [InlineData("robustness", "decay time / s", "window from 1.50 s on", "all points alike (no fit)")]
    public void Axis_titles_name_quantity_and_unit_and_stay_text(string name, params string[] expected)
    {
        string[] texts = Texts(Named(name));
        Assert.All(expected, e => Assert.Contains(e, texts));
    }

    [Fact]
    public void Every_frame_is_drawn_in_the_group_it_belongs_to()
    {
        Figure figure = Named("amplitude");

        // Used frames stand in both panels and once in the legend; the others in the upper panel and in the legend.
        int used = Samples.Fit.Points.Count(p => p.Use == PointUse.Used);
        int leftOut = Samples.Fit.Points.Count(p => !p.IsUsed);
        Assert.Equal(PointUse.Outlier, Samples.Fit.Points[90].Use);
        Assert.InRange(leftOut, 30, 33);
        Assert.Equal(2 * used, OfClass(figure, "path", "stroke-data").Sum(p => ((string)p.Attribute("d")!).Count(c => c == 'M')));
        Assert.Single(OfClass(figure, "ellipse", "fill-data"));
        Assert.Equal(leftOut + 1, OfClass(figure, "ellipse", "stroke-left-out").Length);
        Assert.Equal(1 + 1 + 1, OfClass(figure, "path", "stroke-outlier").Length);
    }

    [Fact]
    public void The_fitted_curve_covers_the_window_of_the_fit()
    {
        Figure figure = Named("amplitude");
        XElement curve = OfClass(figure, "path", "stroke-model").MaxBy(p => ((string)p.Attribute("d")!).Length)!;
        double[] numbers = Coordinates(curve);

        // The time axis runs from -0.02 to 1.02 times the last frame's time, 239/30 s, over 664 px from 76 px on.
        double last = 239 / 30.0;
        double Place(double t) => 76 + (664 * (t + (0.02 * last)) / (1.04 * last));
        Assert.Equal(Place(Samples.Fit.WindowStartSeconds), numbers[0], 0.02);
        Assert.Equal(Place(Samples.Fit.WindowEndSeconds), numbers[^2], 0.02);
    }

    [Fact]
    public void On_the_log_axis_an_exponential_is_a_straight_line()
    {
        XElement curve = OfClass(Named("amplitude-log"), "path", "stroke-model").MaxBy(p => ((string)p.Attribute("d")!).Length)!;
        (double X, double Y)[] points = [.. Coordinates(curve).Chunk(2).Select(p => (p[0], p[1])).SkipWhile(p => p.Item1 < 180)];
        (double X, double Y) first = points[0];
        (double X, double Y) last = points[^1];

        // From 1.2 s on (180 px) every point lies on the line between the ends, up to the rounding of drawing numbers to 0.01 px.
        Assert.All(points, p => Assert.Equal(first.Y + ((last.Y - first.Y) * (p.X - first.X) / (last.X - first.X)), p.Y, 0.03));
    }

    [Fact]
    public void A_stray_residual_is_shown_at_the_rim_and_not_cut_off()
    {
        XElement[] marks = OfClass(Named("amplitude"), "path", "stroke-outlier");

        // The residual panel begins 380 px from the top with a margin of 12 px; its data area is 144 px high.
        double[] tops = [.. marks.Select(m => Coordinates(m).Where((_, i) => i % 2 == 1).Min())];
        Assert.Contains(tops, t => t is > 392 and < 420);
    }

    [Theory]
    [MemberData(nameof(AllNames))]
    public void Figures_carry_a_name_and_a_description_for_readers_who_cannot_see(string name)
    {
        XElement svg = XElement.Parse(Named(name).Svg);
        Assert.Equal("img", (string?)svg.Attribute("role"));
        string[] labels = ((string?)svg.Attribute("aria-labelledby") ?? "").Split(' ');
        Assert.All(labels, id => Assert.NotEqual("", svg.Elements().Single(e => (string?)e.Attribute("id") == id).Value));
    }

    [Theory]
    [MemberData(nameof(AllNames))]
    public void Text_names_a_generic_family_and_keeps_its_width(string name) => Assert.All(
        XElement.Parse(Named(name).Svg).Descendants(Svg + "text"), text =>
        {
            Assert.EndsWith("sans-serif", (string)text.Attribute("font-family")!);
            Assert.True((double)text.Attribute("textLength")! > 0);
        });

    [Theory]
    [MemberData(nameof(AllNames))]
    public void Every_colour_belongs_to_a_role_so_that_a_dark_page_can_change_it(string name)
    {
        IEnumerable<string> colours = XElement.Parse(Named(name).Svg).Descendants()
            .SelectMany(e => new[] { (string?)e.Attribute("fill"), (string?)e.Attribute("stroke") })
            .Where(c => c is not null and not "none").Select(c => c!).Distinct();
        Assert.All(colours, c => Assert.NotNull(FigurePalette.RoleOf(c)));
    }

    [Theory]
    [MemberData(nameof(AllNames))]
    public void The_style_sheet_knows_every_class_of_a_figure(string name)
    {
        IEnumerable<string> classes = XElement.Parse(Named(name).Svg).Descendants()
            .SelectMany(e => ((string?)e.Attribute("class") ?? "").Split(' ', StringSplitOptions.RemoveEmptyEntries)).Distinct();
        Assert.All(classes, c => Assert.Contains($".{c} {{", Pages.StyleSheet.Text));
    }

    [Theory]
    [MemberData(nameof(AllNames))]
    public void Drawing_twice_gives_the_same_bytes_in_any_culture(string name)
    {
        Figure first = Named(name);
        using CultureScope scope = new();
        Figure second = DrawAll().Single(f => f.Name == name);
        Assert.Equal(first.Svg, second.Svg);
        Assert.Equal(first.Png.ToArray(), second.Png.ToArray());
        Assert.Equal(first.Description, second.Description);
    }

    [Theory]
    [MemberData(nameof(AllNames))]
    public void Pictures_have_twice_the_size_of_the_drawing_and_something_on_them(string name)
    {
        Figure figure = Named(name);
        XElement svg = XElement.Parse(figure.Svg);
        using SixLabors.ImageSharp.Image<SixLabors.ImageSharp.PixelFormats.Rgb24> picture =
            SixLabors.ImageSharp.Image.Load<SixLabors.ImageSharp.PixelFormats.Rgb24>(figure.Png.Span);
        Assert.Equal(2 * (int)svg.Attribute("width")!, picture.Width);
        Assert.Equal(2 * (int)svg.Attribute("height")!, picture.Height);

        // Text is drawn with the embedded typeface: the strip of the axis title below the axis is not blank.
        int dark = 0;
        for (int y = picture.Height - 60; y < picture.Height; y++)
        {
            for (int x = 0; x < picture.Width; x++)
                dark += picture[x, y].G < 100 ? 1 : 0;
        }

        Assert.True(dark > 200, $"{dark} dark pixels");
    }

    [Fact]
    public void A_row_that_says_nothing_does_not_flatten_the_robustness_figure()
    {
        Figure figure = RobustnessFigure.Draw([.. Samples.Robustness, new("model", "model transient", null, 0.9, 1.5, -1.1, null, 208)]);
        string[] numbers = [.. Texts(figure).Where(t => t.Length > 0 && char.IsAsciiDigit(t[0]))];
        Assert.All(numbers, n => Assert.InRange(double.Parse(n, CultureInfo.InvariantCulture), 1.9, 2.2));
        Assert.Single(OfClass(figure, "path", "stroke-outlier"));
        Assert.Contains("model transient", Texts(figure));
    }

    [Fact]
    public void A_series_without_amplitudes_has_no_figures_and_does_not_fail()
    {
        AmplitudeSeries empty = new([new AmplitudeSample { Frame = 0, TimeSeconds = 0, Flags = FrameFlags.NoStreak }]);
        AnalysisRecord record = Samples.Record with { Marks = [], Result = Samples.Record.Result with { Fit = null, Scale = null, Robustness = [] } };
        Assert.Empty(ReportFigures.Draw(new ReportContent { Record = record, Series = empty }));
    }

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    public void Very_short_series_are_drawn(int frames)
    {
        AmplitudeSample[] samples = [.. Samples.Series.Take(frames)];
        Assert.Contains("amplitude / mm", Texts(AmplitudeFigure.DrawLinear(samples, null)));
        Assert.Contains("amplitude / mm", Texts(AmplitudeFigure.DrawLog(samples, null)));
    }

    [Theory]
    [InlineData(0)]
    [InlineData(-3)]
    [InlineData(1e-9)]
    [InlineData(1e9)]
    public void Odd_amplitudes_are_drawn(double amplitudeMm)
    {
        AmplitudeSample[] samples =
            [.. Enumerable.Range(0, 5).Select(i => new AmplitudeSample { Frame = i, TimeSeconds = i, AmplitudeMm = amplitudeMm })];
        Assert.NotEmpty(Texts(AmplitudeFigure.DrawLinear(samples, null)));
        Assert.NotEmpty(Texts(AmplitudeFigure.DrawLog(samples, null)));
    }

    [Theory]
    [InlineData(2.1, 0.02, "2.10")]
    [InlineData(-0.5, 0.25, "\u22120.50")]
    [InlineData(-1e-17, 0.1, "0.0")]
    [InlineData(40, 20, "40")]
    [InlineData(2.5e7, 5e6, "2.5e7")]
    public void Tick_numbers_share_their_decimals_and_have_a_real_minus(double value, double step, string expected) =>
        Assert.Equal(expected, EvenTicks.Label(value, step));
}
