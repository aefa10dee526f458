using System.Globalization;
using System.Xml;
using System.Xml.Linq;
using StreakTrack.Core;
using StreakTrack.Core.Studies;
using StreakTrack.Reporting.Figures;
using StreakTrack.Reporting.Studies;

namespace StreakTrack.Reporting.Tests;

public class StudyTests
{
    private static readonly StudySource Source = new("sweep <1>.csv", new string('d', 64), Samples.Record.Program);

    private static readonly ResonanceOptions Options = new() { TauSeconds = new UncertainValue(1.6, 0.02) };

    /// <summary>A driven oscillator, f0 = 40 Hz and Q = 200, from the equation of motion, with an alternating error of 0.1 mm.</summary>
    private static ResonanceStudy Study()
    {
        ResonancePoint[] points =
        [
            .. Enumerable.Range(0, 25).Select(i =>
            {
                double f = 39.4 + (0.05 * i);
                double r = f / 40;
                double amplitude = 0.25 / Math.Sqrt(Math.Pow(1 - (r * r), 2) + Math.Pow(r / 200, 2));
                return new ResonancePoint(f, amplitude + (i % 2 == 0 ? 0.1 : -0.1), 0.1);
            }),
        ];
        return ResonanceStudies.Run(points, Options);
    }

    private static XElement Parse(string page)
    {
        using XmlReader reader = XmlReader.Create(new StringReader(page), new XmlReaderSettings { DtdProcessing = DtdProcessing.Ignore });
        return XDocument.Load(reader).Root!;
    }

    private static int Rows(XElement page, string caption) =>
        page.Descendants("table").Single(t => t.Element("caption")!.Value == caption).Element("tbody")!.Elements().Count();

    [Fact]
    public void A_resonance_report_has_page_and_figure_and_tells_f0_and_q()
    {
        using TemporaryFolder folder = new();
        StudyFolder.Write(ResonanceReport.Of(Study(), Options, Source), folder.Path);
        Assert.Equal(["figures/resonance.png", "figures/resonance.svg", "report.html"],
            Directory.GetFiles(folder.Path, "*", SearchOption.AllDirectories).Select(f => Path.GetRelativePath(folder.Path, f))
                .Order(StringComparer.Ordinal));

        XElement page = Parse(File.ReadAllText(folder.Of("report.html")));
        string text = page.Value;
        Assert.Contains("sweep <1>.csv", text, StringComparison.Ordinal);
        Assert.Contains("(40.000", text, StringComparison.Ordinal);
        Assert.DoesNotContain("://", File.ReadAllText(folder.Of("report.html")), StringComparison.Ordinal);

        // 25 points, each a row of the first table.
        Assert.Equal(25, Rows(page, "The points"));
    }

    [Fact]
    public void Q_from_the_decay_stands_beside_q_from_the_width()
    {
        // pi * 40 * 1.6 = 201.06, u = pi * 40 * 0.02 = 2.5.
        StudyReport report = ResonanceReport.Of(Study(), Options, Source);
        string method = string.Join(' ', report.Method);
        Assert.Contains("201.1 ± 2.5", method, StringComparison.Ordinal);
        Assert.Contains("they agree", method, StringComparison.Ordinal);
    }

    [Fact]
    public void The_drawn_peak_is_as_high_as_the_curve()
    {
        ResonanceStudy study = Study();
        Figure figure = StudyFigure.Draw(ResonanceReport.Of(study, Options, Source).Plots[0]);
        XNamespace svg = "http://www.w3.org/2000/svg";
        XElement curve = XElement.Parse(figure.Svg).Descendants(svg + "path")
            .Where(p => (string?)p.Attribute("class") == "stroke-model").MaxBy(p => ((string)p.Attribute("d")!).Length)!;
        double[] heights =
        [
            .. ((string)curve.Attribute("d")!).Split(['M', 'L', ' '], StringSplitOptions.RemoveEmptyEntries)
                .Select(n => double.Parse(n, CultureInfo.InvariantCulture)).Where((_, i) => i % 2 == 1),
        ];

        // The panel's data area is 354 px high from 12 px on, from 0 to 1.07 times the largest of curve and points with their bars.
        double top = 1.07 * Math.Max(study.Fit.PeakResponse.Value, study.Points.Max(p => p.Response + p.ResponseUncertainty));
        Assert.Equal(366 - (354 * study.Fit.PeakResponse.Value / top), heights.Min(), 0.1);
    }

    [Fact]
    public void Bars_in_both_directions_are_drawn()
    {
        StudyPlot plot = new()
        {
            Name = "line",
            Title = "Line",
            Caption = "",
            XTitle = "current / A",
            YTitle = "frequency squared / Hz²",
            Points = [new(0, 1600, 0.01, 3), new(1, 1700, 0.01, 3), new(2, 1800, 0.01, 3)],
            Curve = x => new UncertainValue(1600 + (100 * x), 1),
            FromZero = false,
        };
        XElement svg = XElement.Parse(StudyFigure.Draw(plot).Svg);
        string[] texts = [.. svg.Descendants().Where(e => e.Name.LocalName == "text").Select(e => e.Value)];
        Assert.Contains("residual / Hz²", texts);

        // Two panels with three upright and three flat bars each.
        Assert.Equal(12, svg.Descendants().Count(e => e.Name.LocalName == "path" && (string?)e.Attribute("class") == "stroke-data"
            && (string?)e.Attribute("stroke-width") == "1.2"));
    }

    [Fact]
    public void A_stiffness_report_tells_the_line_and_draws_its_points()
    {
        // f0² = 1600 Hz² + 40 Hz²/A · I, with an alternating error of 0.02 Hz.
        StiffnessStudy study = StiffnessStudies.Run(
        [
            .. Enumerable.Range(0, 9).Select(i => new StiffnessPoint(
                i - 4, Math.Sqrt(1600 + (40 * (i - 4))) + (i % 2 == 0 ? 0.02 : -0.02), 0.01, 0.02)),
        ]);
        using TemporaryFolder folder = new();
        StudyFolder.Write(StiffnessReport.Of(study, Source), folder.Path);
        XElement page = Parse(File.ReadAllText(folder.Of("report.html")));
        Assert.Contains("Hz²/A", page.Value, StringComparison.Ordinal);
        Assert.Contains("frequency squared / Hz²", File.ReadAllText(folder.Of("figures", "stiffness.svg")), StringComparison.Ordinal);
        Assert.Equal(9, Rows(page, "The points"));
    }

    [Theory]
    [InlineData(5)]
    [InlineData(2)]
    public void A_damping_report_names_the_setting_with_its_unit(int settings)
    {
        DampingRun[] runs =
        [
            .. Enumerable.Range(0, 2 * settings).Select(i => new DampingRun(
                i / 2, 1 / (0.4 + (0.1 * (i / 2)) + (i % 2 == 0 ? 0.004 : -0.004)), 0.02, 40)),
        ];
        DampingStudy study = DampingStudies.Run(runs, new DampingOptions { SettingName = "coil_current_a" });
        using TemporaryFolder folder = new();
        StudyFolder.Write(DampingReport.Of(study, Source), folder.Path);
        XElement page = Parse(File.ReadAllText(folder.Of("report.html")));
        Assert.Contains("coil current / A", File.ReadAllText(folder.Of("figures", "damping.svg")), StringComparison.Ordinal);
        Assert.Equal(2 * settings, Rows(page, "The runs"));
    }

    [Theory]
    [InlineData(new[] { 39.4, 39.45, 40.0 }, 8, new[] { "39.40", "39.45", "40.00" })]
    [InlineData(new[] { -0.0441, 0.00094, double.NaN }, 2, new[] { "−0.044", "0.001", "–" })]
    [InlineData(new[] { 0.0, 0.0 }, 3, new[] { "0", "0" })]
    [InlineData(new double[0], 3, new string[0])]
    public void Numbers_of_a_column_share_their_decimals(double[] values, int digits, string[] expected) =>
        Assert.Equal(expected, Pages.Numbers.Column(values, digits));
}
