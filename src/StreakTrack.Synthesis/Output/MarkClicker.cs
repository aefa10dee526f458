using StreakTrack.Core.Scale;
using StreakTrack.Synthesis.Rendering;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Output;

/// <summary>Marks the ruler as a person would: tenth ticks spread over the picture, each click a little beside its tick.</summary>
internal static class MarkClicker
{
    public static IReadOnlyList<RulerMark> Click(ClipRenderer renderer)
    {
        ClipScenario scenario = renderer.Scenario;
        double fromEdge = scenario.Marks.FromEdgeMm ?? scenario.Laser.DistanceFromEdgeMm;
        double step = 10 * scenario.Ruler.TickStepMm;
        var visible = new List<RulerMark>();
        for (int n = 0; n * step <= scenario.Ruler.LengthMm + 1e-9; n++)
        {
            PicturePoint point = TruthBuilder.PlaceOf(renderer, n * step, fromEdge);
            // Nobody clicks into the very border of a picture.
            if (point.UPx >= 8 && point.VPx >= 8 && point.UPx < renderer.Orientation.DisplayWidth - 8
                && point.VPx < renderer.Orientation.DisplayHeight - 8)
            {
                visible.Add(new RulerMark(point, n * step));
            }
        }

        var random = new SeededRandom(scenario.Seed, RandomStream.Marks);
        int count = Math.Min(scenario.Marks.Count, visible.Count);
        var marks = new List<RulerMark>(count);
        for (int i = 0; i < count; i++)
        {
            RulerMark exact = visible[count == 1 ? 0 : (int)Math.Round((double)i * (visible.Count - 1) / (count - 1))];
            marks.Add(exact with
            {
                Point = new PicturePoint(
                    exact.Point.UPx + scenario.Marks.ScatterPx * random.Normal(2 * i),
                    exact.Point.VPx + scenario.Marks.ScatterPx * random.Normal(2 * i + 1)),
            });
        }

        return marks;
    }
}
