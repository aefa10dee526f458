using System.Globalization;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Series;

namespace StreakTrack.Core.Tests.Series;

public class SeriesCsvTests
{
    private static readonly AmplitudeSeries Sample = new(
    [
        new AmplitudeSample
        {
            Frame = 0, TimeSeconds = 0, LeftMm = 100.1, RightMm = 200.30000000000001, AmplitudeMm = 50.1, AmplitudeUncertaintyMm = 0.05,
            ThresholdAmplitudeMm = 50.7, AmplitudeMrad = 12.5, Brightness = 4321.5, Flags = FrameFlags.Saturated | FrameFlags.Faint,
        },
        new AmplitudeSample { Frame = 1, TimeSeconds = 1 / 30.0, Flags = FrameFlags.NoStreak },
    ]);

    [Fact]
    public void What_is_written_is_read_back_to_the_last_bit()
    {
        AmplitudeSeries read = SeriesCsv.Parse(SeriesCsv.Write(Sample), "series.csv");

        Assert.Equal(Sample.ToList(), read.ToList());
    }

    [Fact]
    public void The_header_and_a_missing_number_are_as_documented()
    {
        string[] lines = SeriesCsv.Write(Sample).Split("\r\n");

        Assert.Equal(
            "frame,time_s,left_mm,right_mm,length_mm,amplitude_mm,amplitude_u_mm,threshold_amplitude_mm,amplitude_mrad,brightness,flags", lines[0]);
        Assert.Equal("1,0.03333333333333333,,,,,,,,,NoStreak", lines[2]);
    }

    [Fact]
    public void A_comma_as_the_culture_s_decimal_sign_changes_nothing()
    {
        CultureInfo before = CultureInfo.CurrentCulture;
        var comma = (CultureInfo)CultureInfo.InvariantCulture.Clone();
        comma.NumberFormat.NumberDecimalSeparator = ",";
        try
        {
            CultureInfo.CurrentCulture = comma;
            Assert.Equal(Sample.ToList(), SeriesCsv.Parse(SeriesCsv.Write(Sample), "series.csv").ToList());
        }
        finally
        {
            CultureInfo.CurrentCulture = before;
        }
    }

    [Fact]
    public void A_foreign_file_is_read_by_its_own_column_names_and_units()
    {
        const string text = "\uFEFF# made elsewhere\nt_ms;width_cm;\"u; cm\"\n0;10.0;0.02\n33.3;9.9;\n";
        var options = new SeriesCsvOptions
        {
            TimeColumn = "t_ms", AmplitudeColumn = "width_cm", UncertaintyColumn = "u; cm", SecondsPerUnit = 0.001, MillimetresPerUnit = 5,
        };

        AmplitudeSeries read = SeriesCsv.Parse(text, "foreign.csv", options);

        Assert.Equal(0.0333, read[1].TimeSeconds, 12);
        Assert.Equal(50, read[0].AmplitudeMm, 12);
        Assert.Equal(0.1, read[0].AmplitudeUncertaintyMm, 12);
        Assert.True(double.IsNaN(read[1].AmplitudeUncertaintyMm));
        Assert.Equal([0, 1], read.Select(sample => sample.Frame));
    }

    [Theory]
    [InlineData("time_s;amplitude_mm\n0;50,25\n0,5;49\n")]
    [InlineData("Time_s\tAmplitude_mm\n0\t50,25\n0,5\t49\n")]
    [InlineData("# of a spreadsheet\r\ntime_s;amplitude_mm;\r\n0,0;50,25;\r\n5,00E-01;49;\r\n;;\r\n")]
    public void A_decimal_comma_between_semicolons_or_tabs_is_read(string text)
    {
        AmplitudeSeries read = SeriesCsv.Parse(text, "s.csv");

        Assert.Equal([0, 0.5], read.Select(sample => sample.TimeSeconds));
        Assert.Equal([50.25, 49], read.Select(sample => sample.AmplitudeMm));
    }

    [Fact]
    public void Angles_of_the_mirror_are_carried_to_the_ruler_with_their_uncertainties()
    {
        // x = L tan 2 theta with L = 1000 mm: 100 mrad give 1000 tan 0.2 = 202.7100 mm, and dx/dtheta = 2 L/cos^2 0.2 = 2.082183 mm/mrad.
        var options = new SeriesCsvOptions
        {
            AmplitudeColumn = "theta_rad", UncertaintyColumn = "u_rad", MilliradiansPerUnit = 1000, Lever = new OpticalLever(new UncertainValue(1000, 0)),
        };

        AmplitudeSample sample = SeriesCsv.Parse("time_s,theta_rad,u_rad\n0,0.1,0.001\n", "s.csv", options)[0];

        Assert.Equal(202.7100, sample.AmplitudeMm, 1e-4);
        Assert.Equal(2.082183, sample.AmplitudeUncertaintyMm, 1e-5);
    }

    [Theory]
    [InlineData("", "empty")]
    [InlineData("time_s,amplitude_mm\n", "no row of data")]
    [InlineData("time,amplitude_mm\n0,1\n", "s.csv line 1: there is no column time_s; the columns are time, amplitude_mm")]
    [InlineData("time_s,amplitude_mm\n0,1\n0,1,5\n", "s.csv line 3: the row has 3 cells and the header has 2")]
    [InlineData("time_s,amplitude_mm\n0,much\n", "s.csv line 2: \"much\" in column amplitude_mm is no number")]
    [InlineData("time_s,amplitude_mm\n,1\n", "s.csv line 2: there is no value for time_s")]
    [InlineData("time_s,amplitude_mm\n0,1e999\n", "s.csv line 2: \"1e999\"")]
    [InlineData("time_s,amplitude_mm,amplitude_u_mm\n0,1,-1\n", "s.csv line 2: the standard uncertainty is negative")]
    [InlineData("time_s,amplitude_mm,flags\n0,1,Sunny\n", "s.csv line 2: \"Sunny\" is no flag")]
    [InlineData("time_s,amplitude_mm\n0,\"1\n", "s.csv line 2: a quoted cell does not end")]
    [InlineData("time_s,amplitude_mm,time_s\n0,1,2\n", "s.csv line 1: the column time_s is there twice")]
    public void A_table_that_is_none_is_refused_with_its_line(string text, string expected)
    {
        var error = Assert.Throws<UnusableInputException>(() => SeriesCsv.Parse(text, "s.csv"));

        Assert.Contains(expected, error.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(-1)]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void A_unit_factor_that_is_none_is_refused(double factor) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => SeriesCsv.Parse(
            "time_s,amplitude_mm\n0,1\n", "s.csv", new SeriesCsvOptions { SecondsPerUnit = factor }));
}
