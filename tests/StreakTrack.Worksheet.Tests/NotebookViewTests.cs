using System.Text.Json.Nodes;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Streaks;
using StreakTrack.Worksheet.Serving;

namespace StreakTrack.Worksheet.Tests;

/// <summary>What the page gets where numbers are missing.</summary>
public sealed class NotebookViewTests
{
    [Fact]
    public void A_profile_whose_band_leaves_the_picture_and_that_found_no_streak_is_told_with_gaps()
    {
        var reading = new StreakReading { Frame = 7, TimeSeconds = 0.25, Flags = FrameFlags.NoStreak };
        var corner = new PicturePoint(0, 0);
        var profile = new FrameProfile(
            reading, [0.5f, float.NaN, 0.25f], [], double.NaN, double.NaN, double.NaN, double.NaN, double.NaN, double.NaN, [corner, corner, corner, corner], []);

        JsonNode told = JsonNode.Parse(JsonText.Write(NotebookView.Profile(profile, scale: null, reading.Flags)))!;

        Assert.Equal([0.5, null, 0.25], told["light"]!.AsArray().Select(v => (double?)v));
        Assert.Null(told["ends"]!["first_px"]);
        Assert.Null(told["ends_mm"]);
    }
}
