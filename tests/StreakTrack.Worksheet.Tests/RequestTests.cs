using System.Net;
using System.Text;
using System.Text.Json.Nodes;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Worksheet.Tests;

/// <summary>Requests that cannot be taken are answered with what is wrong, and change nothing.</summary>
public sealed class RequestTests : IAsyncLifetime
{
    private OpenWorksheet _sheet = null!;

    public async Task InitializeAsync() => _sheet = await OpenWorksheet.OnAsync(Fixtures.PathOf("clips-small", "plain.mp4"));

    public async Task DisposeAsync() => await _sheet.DisposeAsync();

    [Theory]
    [InlineData("/api/options", "{\"version\":0}")]
    [InlineData("/api/options", "{\"version\":0,\"option\":{}}")]
    [InlineData("/api/options", "{\"options\":{}}")]
    [InlineData("/api/options", "{\"version\":0,\"version\":1,\"options\":{}}")]
    [InlineData("/api/options", "")]
    [InlineData("/api/options", "null")]
    [InlineData("/api/options", "[1]")]
    [InlineData("/api/options", "{\"version\":0,")]
    [InlineData("/api/marks", "{\"version\":0}")]
    [InlineData("/api/marks", "{\"version\":0,\"marks\":null}")]
    [InlineData("/api/marks", "{\"version\":0,\"marks\":[{\"u_px\":\"left\",\"v_px\":1,\"reading_mm\":1}]}")]
    [InlineData("/api/measure", "{}")]
    [InlineData("/api/exclude", "{\"version\":0,\"frame\":0}")]
    [InlineData("/api/snap", "{\"u_px\":3}")]
    public async Task An_unreadable_request_is_a_bad_request(string path, string body) =>
        await AssertRefused(HttpStatusCode.BadRequest, path, body);

    [Theory]
    [InlineData("/api/options", "{\"version\":0,\"options\":3}")]
    [InlineData("/api/options", "{\"version\":0,\"options\":null}")]
    [InlineData("/api/options", "{\"version\":0,\"options\":{\"no_such\":1}}", "no_such")]
    [InlineData("/api/options", "{\"version\":0,\"options\":{\"model\":\"no-such\"}}", "model")]
    [InlineData("/api/options", "{\"version\":0,\"options\":{\"frequency_hz\":\"38,9\"}}", "frequency_hz")]
    [InlineData("/api/options", "{\"version\":0,\"options\":{\"frequency_hz\":-1}}", "frequency_hz")]
    [InlineData("/api/options", "{\"version\":0,\"options\":{\"threshold_fraction\":0.95}}", "threshold_fraction")]
    [InlineData("/api/options", "{\"version\":0,\"options\":{\"window_start_s\":5,\"window_end_s\":4}}", "window_end_s")]
    [InlineData("/api/options", "{\"version\":0,\"options\":{\"bootstrap_replicates\":3}}", "bootstrap_replicates")]
    [InlineData("/api/options", "{\"version\":0,\"options\":{\"band_half_width_px\":2}}", "band_half_width_px")]
    [InlineData("/api/options", "{\"version\":0,\"options\":{\"seed\":1.5}}", "seed")]
    [InlineData("/api/options", "{\"version\":0,\"options\":{\"excluded_frames\":[1]}}", "excluded_frames")]
    [InlineData("/api/options", "{\"version\":0,\"options\":{\"reader\":\"embedded\"}}", "reader")]
    [InlineData("/api/marks", "{\"version\":0,\"marks\":[null]}")]
    [InlineData("/api/marks", "{\"version\":0,\"marks\":[{\"u_px\":null,\"v_px\":1,\"reading_mm\":1}]}")]
    [InlineData("/api/marks", "{\"version\":0,\"marks\":[{\"u_px\":1e300,\"v_px\":1,\"reading_mm\":1}]}")]
    [InlineData("/api/measure", "{\"version\":0}", "scale")]
    public async Task A_value_out_of_its_range_is_named(string path, string body, string named = "") =>
        Assert.Contains(named, await AssertRefused(HttpStatusCode.UnprocessableEntity, path, body), StringComparison.Ordinal);

    [Fact]
    public async Task Every_setting_of_the_record_can_be_changed_and_taken_back()
    {
        var values = new JsonObject
        {
            ["model"] = "drag", ["frequency_hz"] = 38.9, ["frequency_uncertainty_hz"] = 0.1, ["distance_mm"] = 1150, ["distance_uncertainty_mm"] = 2,
            ["time_scale"] = 0.125, ["window_start_s"] = 1, ["window_end_s"] = 2.5, ["switch_time_s"] = 0.5, ["switch_time_uncertainty_s"] = 0.01,
            ["switch_time_source"] = "found", ["loss"] = "robust", ["bootstrap_replicates"] = 40, ["monte_carlo_trials"] = 0, ["seed"] = 7,
            ["offset_uncertainty_mm"] = 0.05, ["ruler_class"] = "II", ["ticks"] = "off", ["threshold_fraction"] = 0.4, ["band_offset_px"] = -3.5, ["band_half_width_px"] = 60,
        };
        JsonObject before = (await _sheet.StateAsync())["options"]!.AsObject();
        JsonObject changed = (await _sheet.ChangeAsync("/api/options", new JsonObject { ["options"] = values.DeepClone() }))["options"]!.AsObject();
        foreach ((string name, JsonNode? value) in values)
            Assert.True(JsonNode.DeepEquals(value, changed[name]), $"{name} is {changed[name]}");

        // What the page may not change itself is all that was not named above.
        Assert.Equal(["band_marks", "drive_steps", "excluded_frames", "exclusion_reasons", "reader"], changed.Select(o => o.Key).Except(values.Select(v => v.Key)).Order());

        var nothing = new JsonObject([.. values.Select(v => KeyValuePair.Create(v.Key, (JsonNode?)null))]);
        JsonObject back = (await _sheet.ChangeAsync("/api/options", new JsonObject { ["options"] = nothing }))["options"]!.AsObject();
        Assert.True(JsonNode.DeepEquals(before, back), back.ToString());
    }

    [Fact]
    public async Task Without_a_frequency_its_uncertainty_goes_too()
    {
        await _sheet.ChangeAsync("/api/options", new JsonObject { ["options"] = new JsonObject { ["frequency_hz"] = 40, ["frequency_uncertainty_hz"] = 1 } });
        JsonObject state = await _sheet.ChangeAsync("/api/options", new JsonObject { ["options"] = new JsonObject { ["frequency_hz"] = null } });
        Assert.Equal(0, (double)state["options"]!["frequency_uncertainty_hz"]!);
    }

    [Fact]
    public async Task A_second_tab_with_an_old_version_gets_the_newer_state_and_changes_nothing()
    {
        JsonObject first = await _sheet.ChangeAsync("/api/options", new JsonObject { ["options"] = new JsonObject { ["frequency_hz"] = 40 } });
        (HttpStatusCode status, JsonObject answer) = await _sheet.PostAsync("/api/options", new { version = 0, options = new { frequency_hz = 50 } });
        Assert.Equal(HttpStatusCode.Conflict, status);
        Assert.Contains("another tab", (string)answer["problem"]!, StringComparison.Ordinal);
        Assert.Equal((int)first["version"]!, (int)answer["state"]!["version"]!);
        Assert.Equal(40, (double)answer["state"]!["options"]!["frequency_hz"]!);
        Assert.Equal(40, (double)(await _sheet.StateAsync())["options"]!["frequency_hz"]!);
    }

    [Fact]
    public async Task Of_many_tabs_that_change_one_version_exactly_one_wins()
    {
        HttpStatusCode[] answers = await Task.WhenAll(Enumerable.Range(1, 8).Select(async hz =>
            (await _sheet.PostAsync("/api/options", new { version = 0, options = new { frequency_hz = hz } })).Status));
        Assert.Equal(1, answers.Count(a => a == HttpStatusCode.OK));
        Assert.Equal(7, answers.Count(a => a == HttpStatusCode.Conflict));
        Assert.Equal(1, (int)(await _sheet.StateAsync())["version"]!);
    }

    [Fact]
    public async Task A_request_of_more_than_a_megabyte_is_not_read()
    {
        using HttpResponseMessage answer = await _sheet.SendAsync(
            "POST", "/api/marks", new StringContent("{\"version\":0" + new string(' ', 2 << 20) + "}", Encoding.UTF8, "application/json"));
        Assert.Equal(HttpStatusCode.RequestEntityTooLarge, answer.StatusCode);
    }

    private async Task<string> AssertRefused(HttpStatusCode status, string path, string body)
    {
        string before = await Picture();
        using HttpResponseMessage answer = await _sheet.SendAsync("POST", path, new StringContent(body, Encoding.UTF8, "application/json"));
        string text = await answer.Content.ReadAsStringAsync();
        Assert.True(answer.StatusCode == status, $"{answer.StatusCode} {text}");
        string problem = (string)JsonNode.Parse(text)!["problem"]!;
        Assert.NotEmpty(problem);
        Assert.Equal(before, await Picture());
        return problem;

        async Task<string> Picture()
        {
            JsonObject state = await _sheet.StateAsync();
            return $"{state["version"]} {state["options"]} {state["marks"]}";
        }
    }
}
