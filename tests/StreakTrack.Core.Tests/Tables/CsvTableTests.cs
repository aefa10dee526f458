using StreakTrack.Core.Tables;

namespace StreakTrack.Core.Tests.Tables;

public class CsvTableTests
{
    [Theory]
    [InlineData("a_mm,b_u_mm\r\n1.5,2\r\n,3e-1\r\n")]
    [InlineData("\uFEFFa_mm;b_u_mm\n1.5;2\n\n;0.3\n")]
    [InlineData("# made by hand\na_mm\tb_u_mm\n1.5\t2\n# between\n\t0.3")]
    [InlineData("\"a_mm\",\"b_u_mm\"\n\"1.5\",\"2\"\n,0.3")]
    [InlineData("a_mm;b_u_mm\n1,5;2\nNA;0,3\n")]
    [InlineData("a_mm\tb_u_mm\r1,5\t2\r\t0,3")]
    [InlineData("\"a_mm\";b_u_mm;\"note, or none\"\n1,5;2;\"in two\nlines; here\"\nnan;0,3;\n")]
    public void Usual_forms_of_CSV_are_read(string text)
    {
        CsvTable table = CsvTable.Parse(text, "t.csv");
        Assert.Equal(["a_mm", "b_u_mm"], table.Columns.Take(2));
        Assert.Equal(2, table.RowCount);
        Assert.Equal(1.5, table.RequiredNumber(0, table.Require("A_mm", "a")));
        Assert.True(double.IsNaN(table.Number(1, 0)));
        Assert.Equal(0.3, table.Uncertainty(1, 1), 15);
        Assert.True(double.IsNaN(table.Number(0, table.IndexOf("c", "d"))));
        Assert.Equal(1, table.IndexOf("none", "B_U_MM"));
    }

    [Theory]
    [InlineData("", "empty")]
    [InlineData("# only a remark\n", "empty")]
    [InlineData("a,b\n", "no row")]
    [InlineData("a;b\n1;2\n1;2;3\n", "line 3: the row has 3 cells")]
    [InlineData("a,b\n1,2\n1,2,3\n", "line 3: the row has 3 cells")]
    [InlineData("a,b\n\n1,\"2\n", "line 3: a quoted cell does not end")]
    [InlineData("a\0b", "not a text file")]
    public void A_broken_table_is_refused_with_its_line(string text, string words)
    {
        string message = Assert.Throws<UnusableInputException>(() => CsvTable.Parse(text, "t.csv")).Message;
        Assert.StartsWith("t.csv", message, StringComparison.Ordinal);
        Assert.Contains(words, message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_bad_cell_is_named_by_line_and_column()
    {
        CsvTable table = CsvTable.Parse("# remark\nf_hz,u_hz\n1,0.1\ntwo,-1\n3,\n,1e999\n", "t.csv");
        Refuse(() => table.Number(1, 0), "t.csv line 4: \"two\" in column f_hz is no number");
        Refuse(() => table.Uncertainty(1, 1), "line 4: the standard uncertainty in column u_hz is not positive");
        Refuse(() => table.RequiredNumber(3, 0), "line 6: there is no value for f_hz");
        Refuse(() => table.Number(3, 1), "line 6");
        Refuse(() => CsvTable.Parse("a,A\n1,2\n", "t.csv").IndexOf("a"), "line 1: the column A is there twice");
        Refuse(() => table.Require("current_a", "the current in A"), "line 2: there is no column current_a");

        static void Refuse(Func<object> read, string words) =>
            Assert.Contains(words, Assert.Throws<UnusableInputException>(read).Message, StringComparison.Ordinal);
    }

    // In a table of semicolons 1,234 may be 1.234 or 1234: what other numbers of the table look like decides.
    [Theory]
    [InlineData("a;b\n0,5;1,234\n", 1.234)]
    [InlineData("a;b\n0.5;1,234\n", double.NaN)]
    [InlineData("a;b\n0,5;1.234,5\n", double.NaN)]
    [InlineData("a,b\n0.5,\"1,234\"\n", double.NaN)]
    public void A_decimal_comma_is_told_from_one_between_thousands(string text, double expected)
    {
        CsvTable table = CsvTable.Parse(text, "t.csv");
        Assert.Equal(0.5, table.Number(0, 0));
        if (double.IsNaN(expected))
            Assert.Throws<UnusableInputException>(() => table.Number(0, 1));
        else
            Assert.Equal(expected, table.Number(0, 1));
    }

    [Fact]
    public void A_missing_file_is_refused()
    {
        Assert.Contains("no such file", Assert.Throws<UnusableInputException>(() => CsvTable.Read("does-not-exist.csv")).Message,
            StringComparison.Ordinal);
    }
}
