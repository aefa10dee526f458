using StreakTrack.Worksheet.Serving;

namespace StreakTrack.Worksheet.Tests;

public sealed class JsonTextTests
{
    [Fact]
    public void Numbers_that_are_none_become_null_in_both_precisions() => Assert.Equal(
        "{\"light\":[0.1,null,null],\"time_s\":[0.1,null,null]}",
        JsonText.Write(new { Light = new[] { 0.1f, float.NaN, float.PositiveInfinity }, TimeS = new[] { 0.1, double.NaN, double.NegativeInfinity } }));
}
