using StreakTrack.Core.Studies;

namespace StreakTrack.Core.Tests.Studies;

public class PhotoTableTests
{
    [Fact]
    public void Rows_keep_their_order_and_other_columns_are_passed_over()
    {
        IReadOnlyList<PhotoTableRow> rows = PhotoTable.Parse("note;frequency_hz;photo\na;38,9;p10.jpg\nb;38,7;p2.jpg\n", "drive.csv");

        Assert.Equal([new PhotoTableRow("p10.jpg", 38.9, 2), new PhotoTableRow("p2.jpg", 38.7, 3)], rows);
    }

    [Theory]
    [InlineData("photo\np1.jpg\n", "frequency_hz")]
    [InlineData("frequency_hz\n38\n", "photo")]
    [InlineData("photo,frequency_hz\n", "no row")]
    [InlineData("photo,frequency_hz\np1.jpg,\n", "line 2")]
    [InlineData("photo,frequency_hz\np1.jpg,abc\n", "line 2")]
    [InlineData("photo,frequency_hz\np1.jpg,-3\n", "line 2")]
    [InlineData("photo,frequency_hz\np1.jpg,38\np1.jpg,39\n", "line 3")]
    [InlineData("photo,frequency_hz\n,38\n", "line 2")]
    [InlineData("photo,frequency_hz\n../p1.jpg,38\n", "line 2")]
    public void A_table_that_does_not_do_is_refused_by_its_line(string text, string said)
    {
        UnusableInputException refusal = Assert.Throws<UnusableInputException>(() => PhotoTable.Parse(text, "drive.csv"));

        Assert.Contains(said, refusal.Message, StringComparison.Ordinal);
    }
}
