using StreakTrack.Core.Scale;

namespace StreakTrack.Core.Tests.Scale;

public class MarksCsvTests
{
    [Theory]
    [InlineData("u_px,v_px,reading_mm\n10.5,20,30\n40,50,60.25\n")]
    [InlineData("u_px,v_px,reading_mm\r\n10.5,20,30\r\n40,50,60.25")]
    [InlineData("\uFEFFreading_mm, U_PX ,note,v_px\n30,10.5,\"the first, \"\"left\"\" one\nhere\",20\n\n60.25,40,,50\n\n")]
    [InlineData("# by hand\nu_px;v_px;reading_mm;;\n10,5;20;30;;\n40;50;60,25;;\n")]
    public void Marks_are_read_whatever_the_order_of_columns_and_the_line_ends(string text)
    {
        IReadOnlyList<RulerMark> marks = MarksCsv.Parse(text);
        Assert.Equal([new RulerMark(new PicturePoint(10.5, 20), 30), new RulerMark(new PicturePoint(40, 50), 60.25)], marks);
    }

    [Theory]
    [InlineData("", "marks", "empty", "first line")]
    [InlineData("10,20,30\n", "marks line 1", "no column u_px", "first line")]
    [InlineData("u_px,v_px,reading_mm,v_px\n", "marks line 1", "twice", "name of its own")]
    [InlineData("u_px,v_px,reading_mm\n1,2,3\n1,x,3\n", "marks line 3", "\"x\" in column v_px is no number", "plain number")]
    [InlineData("u_px,v_px,reading_mm\n\"1,5\",2,3\n", "marks line 2", "\"1,5\" in column u_px is no number", "decimal point")]
    [InlineData("u_px;v_px;reading_mm\n1,5;2;3.5\n", "marks line 2", "decimal '.', and numbers before it have ','", "same decimal sign")]
    [InlineData("u_px,v_px,reading_mm\n\n1,2\n", "marks line 3", "the row has 2 cells and the header has 3", "for each column")]
    [InlineData("u_px,v_px,reading_mm\n1,NaN,3\n", "marks line 2", "no value for v_px", "Fill in")]
    [InlineData("u_px,v_px,reading_mm\n1,\"2,3\n", "marks line 2", "does not end", "quotation")]
    [InlineData("u_px\0v_px", "marks", "not a text file", "UTF-8")]
    public void A_bad_table_is_refused_with_the_line_and_the_remedy(string text, string subject, string problem, string nextStep)
    {
        UnusableInputException refusal = Assert.Throws<UnusableInputException>(() => MarksCsv.Parse(text));
        Assert.Equal(subject, refusal.Subject);
        Assert.Contains(problem, refusal.Problem, StringComparison.Ordinal);
        Assert.Contains(nextStep, refusal.NextStep, StringComparison.Ordinal);
    }

    [Fact]
    public void Hostile_sizes_are_refused()
    {
        Assert.Throws<UnusableInputException>(() => MarksCsv.Parse("u_px,v_px,reading_mm\n" + new string('1', 2_000_000)));
        Assert.Throws<UnusableInputException>(() => MarksCsv.Parse(
            "u_px,v_px,reading_mm\n" + string.Concat(Enumerable.Range(0, 2000).Select(i => $"{i},0,{i}\n"))));
    }

    [Fact]
    public void A_missing_file_is_named()
    {
        UnusableInputException refusal = Assert.Throws<UnusableInputException>(() => MarksCsv.Read("no-such-marks.csv"));
        Assert.Contains("no-such-marks.csv", refusal.Subject, StringComparison.Ordinal);
        Assert.Contains("no such file", refusal.Problem, StringComparison.Ordinal);
    }

    [Fact]
    public void Marks_written_are_read_back_bit_for_bit()
    {
        RulerMark[] marks = [new(new PicturePoint(1 / 3.0, -2e-7), 0.1), new(new PicturePoint(1919.25, 0), 250)];
        StringWriter text = new();
        MarksCsv.Write(text, marks);
        Assert.Equal(marks, MarksCsv.Parse(text.ToString()));
    }
}
