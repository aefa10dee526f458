using System.Globalization;
using System.Text.RegularExpressions;
using System.Xml;
using System.Xml.Linq;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using StreakTrack.Core.Series;
using StreakTrack.Reporting.Pages;

namespace StreakTrack.Reporting.Tests;

public class ReportPageTests
{
    private static readonly string FullPage = Write(Samples.Content);

    private static string Write(ReportContent content) =>
        ReportPage.Write(content, ReportFigures.Draw(content).ToDictionary(f => f.Name));

    private static XElement Parse(string page)
    {
        using XmlReader reader = XmlReader.Create(new StringReader(page), new XmlReaderSettings { DtdProcessing = DtdProcessing.Ignore });
        return XDocument.Load(reader).Root!;
    }

    private static XElement ById(XElement page, string id) => page.Descendants().Single(e => (string?)e.Attribute("id") == id);

    [Fact]
    public void The_page_is_well_formed_and_every_identifier_is_unique()
    {
        XElement page = Parse(FullPage);
        string[] ids = [.. page.Descendants().Attributes("id").Select(a => a.Value)];
        Assert.Equal(ids.Distinct(), ids);
        Assert.Equal("en", (string?)page.Attribute("lang"));
    }

    [Fact]
    public void Nothing_is_loaded_from_anywhere()
    {
        Assert.DoesNotMatch(new Regex("https?:", RegexOptions.IgnoreCase), FullPage);
        Assert.DoesNotMatch(new Regex(@"<(script|link|iframe|object|embed|base)\b", RegexOptions.IgnoreCase), FullPage);
        Assert.DoesNotMatch(new Regex(@"@import|url\((?!#)", RegexOptions.IgnoreCase), FullPage);
        Assert.All(Parse(FullPage).Descendants().Attributes().Where(a => a.Name.LocalName is "src" or "href"),
            a => Assert.Matches("^(#|data:image/jpeg;base64,)", a.Value));
    }

    [Fact]
    public void References_inside_the_page_lead_somewhere()
    {
        XElement page = Parse(FullPage);
        HashSet<string> ids = [.. page.Descendants().Attributes("id").Select(a => a.Value)];
        IEnumerable<string> wanted = page.Descendants().Attributes()
            .SelectMany(a => a.Name.LocalName switch
            {
                "href" when a.Value.StartsWith('#') => [a.Value[1..]],
                "aria-labelledby" => a.Value.Split(' '),
                "clip-path" => [a.Value[5..^1]],
                _ => Array.Empty<string>(),
            });
        Assert.All(wanted, id => Assert.Contains(id, ids));
    }

    [Fact]
    public void File_names_cannot_become_markup_or_turn_the_text_around()
    {
        Assert.Contains("bench &lt;script&gt;alert('1')&lt;/script&gt; &amp; \"wire\"", FullPage, StringComparison.Ordinal);
        Assert.DoesNotContain('\u202E', FullPage);
        Assert.Contains("Frame 90 lies &lt;4 mm above the curve &amp; far off.", FullPage, StringComparison.Ordinal);
    }

    [Fact]
    public void Control_characters_in_a_name_do_not_break_the_page()
    {
        AnalysisRecord record = Samples.Record with { Clip = Samples.Record.Clip! with { File = "a\u0000b\u001B\uD800.mp4" } };
        XElement page = Parse(Write(Samples.Content with { Record = record }));
        Assert.Contains("a\uFFFDb\uFFFD\uFFFD.mp4", page.Value, StringComparison.Ordinal);
    }

    [Fact]
    public void The_result_is_given_to_two_digits_of_its_uncertainty()
    {
        string result = ById(Parse(FullPage), "result").Value;
        Assert.Contains("τ = (2.0031 ± 0.0046) s", result, StringComparison.Ordinal);
        Assert.Contains("A single exponential is enough.", result, StringComparison.Ordinal);

        // Q = pi f0 tau = pi * 40 * 2.00312 = 251.72; u(Q) = pi * 40 * 0.00457 = 0.57.
        Assert.Contains("251.72 ± 0.57", result, StringComparison.Ordinal);
    }

    [Fact]
    public void An_open_interval_is_said_to_be_open()
    {
        string row = Parse(FullPage).Descendants("tr").Select(r => r.Value)
            .Single(r => r.Contains("time of the switching", StringComparison.Ordinal));
        Assert.Contains("above 0.997", row, StringComparison.Ordinal);
    }

    [Fact]
    public void Findings_come_with_advice_the_most_severe_first()
    {
        XElement[] items = [.. ById(Parse(FullPage), "findings").Descendants("li")];
        Assert.Equal(["warning", "info"], items.Select(i => (string?)i.Attribute("class")));
        Assert.Contains(FindingKinds.Outliers.Advice, items[0].Value, StringComparison.Ordinal);
    }

    [Fact]
    public void A_warning_stands_beside_the_result() =>
        Assert.Contains("1 warning", ById(Parse(FullPage), "result").Value, StringComparison.Ordinal);

    [Fact]
    public void Tables_have_captions_and_header_cells_with_a_scope()
    {
        XElement page = Parse(FullPage);
        Assert.All(page.Descendants("table"), t => Assert.Equal("caption", t.Elements().First().Name.LocalName));
        Assert.All(page.Descendants("th"), h => Assert.Contains((string?)h.Attribute("scope"), new[] { "row", "col" }));
        Assert.All(page.Descendants("table").Where(t => t.Element("thead") is not null), t =>
        {
            int columns = t.Element("thead")!.Element("tr")!.Elements().Count();
            Assert.All(t.Element("tbody")!.Elements("tr"), row => Assert.Equal(columns, row.Elements().Count()));
        });
    }

    [Fact]
    public void Headings_leave_out_no_level()
    {
        int[] levels = [.. Parse(FullPage).Descendants().Where(e => Regex.IsMatch(e.Name.LocalName, "^h[1-6]$"))
            .Select(e => e.Name.LocalName[1] - '0')];
        Assert.Equal(1, levels[0]);
        Assert.Single(levels, 1);
        Assert.All(levels.Zip(levels.Skip(1)), pair => Assert.True(pair.Second <= pair.First + 1));
    }

    [Fact]
    public void Drawings_are_pictures_with_a_name() => Assert.All(
        Parse(FullPage).Descendants("svg").Where(s => !s.Ancestors("svg").Any()), s =>
        {
            Assert.Equal("img", (string?)s.Attribute("role"));
            Assert.True(s.Attribute("aria-label") is not null || s.Attribute("aria-labelledby") is not null);
        });

    [Fact]
    public void Settings_and_versions_are_told()
    {
        string method = ById(Parse(FullPage), "method").Value;
        Assert.All(["StreakTrack 1.2.3", ".NET 10.0.0", "reader 4.5", "(1150.0 ± 3.0) mm", "40 Hz", "7, 9"],
            fact => Assert.Contains(fact, method, StringComparison.Ordinal));
    }

    [Fact]
    public void The_safety_note_defers_to_the_responsible_officer() =>
        Assert.Contains("responsible laser safety officer decide (IEC 60825-1)", ById(Parse(FullPage), "safety").Value,
            StringComparison.Ordinal);

    [Fact]
    public void The_same_input_gives_the_same_page_in_any_culture()
    {
        using CultureScope scope = new();
        Assert.Equal(FullPage, Write(Samples.Content));
    }

    [Fact]
    public void A_page_without_a_fit_says_so_and_gives_no_number()
    {
        AnalysisRecord record = Samples.Record with
        {
            Result = Samples.Record.Result with
            {
                Fit = null,
                Oscillator = new Dictionary<string, QuantityRecord>(),
                Findings = [FindingKinds.NoStreak.With("No streak in any of 240 frames.")],
            },
        };
        XElement page = Parse(Write(new ReportContent { Record = record, Series = Samples.Series }));
        string result = ById(page, "result").Value;
        Assert.Contains("No envelope could be fitted", result, StringComparison.Ordinal);
        Assert.Contains("1 error", result, StringComparison.Ordinal);
        Assert.DoesNotContain("±", result, StringComparison.Ordinal);
    }

    [Fact]
    public void A_fit_that_did_not_converge_is_not_to_be_used()
    {
        AnalysisRecord record = Samples.Record with
        {
            Result = Samples.Record.Result with { Fit = Samples.Record.Result.Fit! with { Converged = false } },
        };
        XElement page = Parse(Write(Samples.Content with { Record = record }));
        Assert.Contains("must not be used", ById(page, "result").Value, StringComparison.Ordinal);
    }

    [Fact]
    public void A_bare_series_has_no_clip_ruler_or_safety_section()
    {
        AnalysisRecord record = Samples.Record with
        {
            Clip = null,
            Marks = [],
            SeriesFile = new SeriesFileRecord("other.csv", new string('c', 64), 240),
            Result = Samples.Record.Result with { Scale = null, Streak = null },
        };
        XElement page = Parse(Write(Samples.Content with { Record = record, Pictures = [] }));
        string[] sections = [.. page.Descendants("section").Select(s => (string)s.Attribute("id")!)];
        Assert.Contains("source", sections);
        Assert.DoesNotContain("ruler", sections);
        Assert.DoesNotContain("safety", sections);
        Assert.DoesNotContain("contact-sheet", sections);
    }

    [Fact]
    public void Every_model_and_parameter_of_the_fit_stage_has_a_name_and_a_formula_or_symbol()
    {
        Assert.All(EnvelopeModels.Names, name => Assert.NotEqual("", Wording.Model(name).Formula));
        IEnumerable<string> parameters = EnvelopeModels.Names.SelectMany(EnvelopeModels.FormsOf).SelectMany(m => m.Parameters)
            .Select(p => p.Name).Append(EnvelopeParameters.SwitchTime).Distinct();
        Assert.All(parameters, name =>
        {
            Assert.NotEqual("", Wording.Parameter(name).Symbol);
            Assert.NotEqual("", Wording.Parameter(name).Unit);
        });
    }

    [Fact]
    public void An_offset_of_all_lengths_is_told_with_what_it_adds()
    {
        FitRecord fit = Samples.Record.Result.Fit!;
        AnalysisRecord record = Samples.Record with
        {
            Result = Samples.Record.Result with
            {
                Fit = fit with
                {
                    LengthOffsetUncertaintyMm = 0.05,
                    Parameters = fit.Parameters.ToDictionary(
                        p => p.Key, p => p.Value with { ScatterUncertainty = 0.0021, OffsetUncertainty = 0.00406 }),
                },
            },
        };
        string text = ById(Parse(Write(Samples.Content with { Record = record })), "fit").Value;
        Assert.Contains("with a standard uncertainty of 0.05 mm", text, StringComparison.Ordinal);
        Assert.Contains("τ / s0.00210.0041––", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Points_far_off_the_curve_are_listed_with_their_weight()
    {
        AnalysisRecord record = WithFit(fit => fit with { Loss = "robust", FlaggedPoints = [new(90, 3, 26.07, 4.01, 0.0036)] });

        string text = ById(Parse(Write(Samples.Content with { Record = record })), "fit").Value;

        Assert.Contains("903.00026.0740.0036", text, StringComparison.Ordinal);
        Assert.Contains("robust", text, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(1.04, null, "are of the right size")]
    [InlineData(3.2, 0.07, "a scatter of 0.07 mm common to all was added")]
    [InlineData(0.3, null, "are too large")]
    public void Reduced_chi_square_is_read_for_people(double chi, double? common, string expected)
    {
        AnalysisRecord record = WithFit(fit => fit with
        {
            ReducedChiSquare = chi, ReducedChiSquareRange95 = [0.83, 1.19], CommonScatterMm = common,
        });

        Assert.Contains(expected, ById(Parse(Write(Samples.Content with { Record = record })), "fit").Value, StringComparison.Ordinal);
    }

    [Fact]
    public void The_bootstrap_stands_beside_the_stated_uncertainty()
    {
        AnalysisRecord record = WithFit(fit => fit with
        {
            Bootstrap = new BootstrapRecord(399, 1, 9, 5, new Dictionary<string, BootstrapParameterRecord> { ["tau_s"] = new(0.0039, [1.995, 2.011]) }),
        });

        string text = ById(Parse(Write(Samples.Content with { Record = record })), "fit").Value;

        Assert.Contains("blocks of 9 residuals, seed 5, 1 without a fit", text, StringComparison.Ordinal);
        Assert.Contains("0.0039", text, StringComparison.Ordinal);
    }

    [Fact]
    public void Budgets_show_their_inputs_and_the_Monte_Carlo_check()
    {
        AnalysisRecord record = Samples.Record with
        {
            Result = Samples.Record.Result with
            {
                Budgets =
                [
                    new BudgetRecord
                    {
                        Quantity = "amplitude at the mirror",
                        Unit = "mrad",
                        Estimate = 26.05,
                        CombinedStandardUncertainty = 0.07,
                        CoverageProbability = 0.95,
                        CoverageFactor = 1.97,
                        ExpandedUncertainty = 0.138,
                        EffectiveDegreesOfFreedom = 210,
                        Inputs = [new("distance from mirror to ruler", "mm", 1150, 3, "B", "normal", null, -0.0226, -0.068, 0.95, "as stated")],
                        MonteCarlo = new MonteCarloRecord(20_000, 1, true, 26.051, 0.0702, [25.91, 26.19], [25.91, 26.19], false),
                    },
                ],
            },
        };

        string text = ById(Parse(Write(Samples.Content with { Record = record })), "budget").Value;

        Assert.Contains("Amplitude at the mirror", text, StringComparison.Ordinal);
        Assert.Contains("(26.050 ± 0.070) mrad", text, StringComparison.Ordinal);
        Assert.Contains("does not confirm", text, StringComparison.Ordinal);
    }

    private static AnalysisRecord WithFit(Func<FitRecord, FitRecord> change) =>
        Samples.Record with { Result = Samples.Record.Result with { Fit = change(Samples.Record.Result.Fit!) } };

    [Fact]
    public void Flags_have_words_each() => Assert.All(
        Enum.GetValues<FrameFlags>().Where(f => f != FrameFlags.None), f => Assert.NotEqual("", FlagWording.List(f)));

    [Theory]
    [InlineData("dA/dt = −A/τ", "dA/dt = −A/τ", "AtAτ")]
    [InlineData("exp(2π i δf t)", "exp(2π i δf t)", "ft")]
    public void Formulas_set_quantities_in_italics_and_nothing_else(string text, string whole, string italics)
    {
        XElement formula = Formula.Write(text);
        Assert.Equal(whole, formula.Value);
        Assert.Equal(italics, string.Concat(formula.Elements("i").Select(i => i.Value)));
    }

    [Fact]
    public void The_style_sheet_can_stand_in_a_page_as_it_is() => Assert.DoesNotMatch("[<>&]", StyleSheet.Text);

    [Fact]
    public void Captions_of_frames_tell_number_time_and_amplitude()
    {
        string[] captions = [.. ById(Parse(FullPage), "contact-sheet").Descendants("figcaption").Select(c => c.Value)];
        Assert.StartsWith("Frame 0, 0.000 s · (60.087 ± 0.080) mm", captions[0], StringComparison.Ordinal);
        Assert.StartsWith("Frame 90, 3.000 s", captions[1], StringComparison.Ordinal);
        Assert.EndsWith("far off the curve", captions[1], StringComparison.Ordinal);
    }

    [Fact]
    public void Marks_of_a_frame_lie_where_the_ends_were_found()
    {
        XElement drawing = ById(Parse(FullPage), "contact-sheet").Descendants("svg").First();
        double[] circles =
            [.. drawing.Elements("circle").Select(c => double.Parse((string)c.Attribute("cx")!, CultureInfo.InvariantCulture)).Distinct()];

        // Frame 0: ends at u = 640 ± 7 px/mm times the amplitude, threshold 6 px further out; pixel centres are at halves of the drawing.
        double half = (7 * Samples.Series[0].AmplitudeMm) + 6;
        Assert.Equal([640.5 - half, 640.5 + half], circles.Order(), (a, b) => Math.Abs(a - b) < 0.006);
    }
}
