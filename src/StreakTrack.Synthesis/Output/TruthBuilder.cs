using StreakTrack.Core.Scale;
using StreakTrack.Synthesis.Rendering;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Output;

/// <summary>Works out what is true of a clip.</summary>
internal static class TruthBuilder
{
    /// <summary>Steps of time in which the path is searched for its extremes, in periods; they are missed by less than 1e-5 of the
    /// amplitude.</summary>
    private const double StepPeriods = 1.0 / 700;

    public static ClipTruth Build(ClipRenderer renderer, string clipFile, string encoder)
    {
        OscillatorMotion motion = renderer.Scenario.Motion;
        return new ClipTruth
        {
            Scenario = renderer.Scenario,
            Clip = clipFile,
            Encoder = encoder,
            DisplayWidthPx = renderer.Orientation.DisplayWidth,
            DisplayHeightPx = renderer.Orientation.DisplayHeight,
            Oscillator = new OscillatorTruth(
                motion.FrequencyHz, motion.TauSeconds, Math.PI * motion.FrequencyHz * motion.TauSeconds, SwitchTime(motion)),
            Frames = [.. Enumerable.Range(0, renderer.Frames.Count).Select(k => Frame(renderer, k))],
            Ticks = [.. Ticks(renderer)],
        };
    }

    /// <summary>The reading's place on the streak's line in the displayed picture of a frame that has moved by a shift.</summary>
    public static PicturePoint PlaceOf(ClipRenderer renderer, double readingMm, double fromEdgeMm, double shiftU = 0, double shiftV = 0)
    {
        (double u, double v) = renderer.Geometry.ToPicture(readingMm, fromEdgeMm);
        return renderer.Orientation.ToDisplay(u + shiftU, v + shiftV);
    }

    private static double? SwitchTime(OscillatorMotion motion) => motion switch
    {
        DecayMotion m => m.SwitchTimeSeconds,
        FlooredDecayMotion m => m.SwitchTimeSeconds,
        RiseMotion m => m.SwitchTimeSeconds,
        DetunedTransientMotion m => m.SwitchTimeSeconds,
        DragDecayMotion m => m.SwitchTimeSeconds,
        _ => null,
    };

    private static FrameTruth Frame(ClipRenderer renderer, int k)
    {
        FrameExposure frame = renderer.Frames[renderer.Frames[k].Picture];
        ClipScenario scenario = renderer.Scenario;
        double edge = scenario.Laser.DistanceFromEdgeMm, frequency = scenario.Motion.FrequencyHz;
        double restRow = renderer.Geometry.ToPicture(scenario.Lever.RestReadingMm, edge).VPx + frame.ShiftVPx;
        double middle = frame.TimeSeconds + restRow * scenario.Camera.RowTimeSeconds + frame.ExposureSeconds / 2;
        (double first, double second) = Extremes(renderer, frame);
        PicturePoint firstPoint = PlaceOf(renderer, first, edge, frame.ShiftUPx, frame.ShiftVPx);
        PicturePoint secondPoint = PlaceOf(renderer, second, edge, frame.ShiftUPx, frame.ShiftVPx);
        PicturePoint origin = renderer.Orientation.ToDisplay(0, 0), moved = renderer.Orientation.ToDisplay(frame.ShiftUPx, frame.ShiftVPx);
        return new FrameTruth
        {
            Frame = k,
            TimeS = renderer.Frames[k].TimeSeconds,
            Repeats = renderer.Frames[k].Picture != k,
            ExposureS = frame.ExposureSeconds,
            MidExposureS = middle,
            AmplitudeMm = renderer.Path.AmplitudeMm(middle),
            PeriodsExposed = frame.ExposureSeconds * frequency,
            FirstMm = first,
            SecondMm = second,
            FirstPx = [firstPoint.UPx, firstPoint.VPx],
            SecondPx = [secondPoint.UPx, secondPoint.VPx],
            ShiftPx = [moved.UPx - origin.UPx, moved.VPx - origin.VPx],
        };
    }

    /// <summary>The extremes of the path that the exposed rows could see: a place counts while its own row is exposed.</summary>
    private static (double First, double Second) Extremes(ClipRenderer renderer, FrameExposure frame)
    {
        ClipScenario scenario = renderer.Scenario;
        double rowTime = scenario.Camera.RowTimeSeconds, edge = scenario.Laser.DistanceFromEdgeMm;
        double end = frame.TimeSeconds + frame.ExposureSeconds + rowTime * scenario.Camera.HeightPx;
        double stepsASecond = scenario.Motion.FrequencyHz / StepPeriods;
        if (scenario.Laser.Strobe is { } flashes)
            stepsASecond = Math.Max(stepsASecond, 20 * flashes.FrequencyHz / flashes.OnShare);
        int steps = (int)Math.Ceiling((end - frame.TimeSeconds) * stepsASecond) + 1;
        double least = double.PositiveInfinity, most = double.NegativeInfinity;
        for (int i = 0; i <= steps; i++)
        {
            double time = frame.TimeSeconds + (end - frame.TimeSeconds) * i / steps;
            double reading = renderer.Path.ReadingMm(time);
            double row = rowTime == 0 ? 0 : renderer.Geometry.ToPicture(reading, edge).VPx + frame.ShiftVPx;
            double since = time - frame.TimeSeconds - row * rowTime;
            bool lit = scenario.Laser.Strobe is not { } strobe || strobe.OnTime(time + 1e-9) > strobe.OnTime(time - 1e-9);
            if (lit && since >= 0 && since <= frame.ExposureSeconds * (1 + 1e-12))
            {
                least = Math.Min(least, reading);
                most = Math.Max(most, reading);
            }
        }

        // No flash in this exposure: nothing is seen, and the resting place stands for it.
        return least <= most ? (least, most) : (scenario.Lever.RestReadingMm, scenario.Lever.RestReadingMm);
    }

    private static IEnumerable<TickTruth> Ticks(ClipRenderer renderer)
    {
        RulerSettings ruler = renderer.Scenario.Ruler;
        if (ruler.Kind == RulerKind.Card)
            yield break;

        for (int n = 0; n * ruler.TickStepMm <= ruler.LengthMm + 1e-9; n++)
        {
            PicturePoint point = PlaceOf(renderer, n * ruler.TickStepMm, renderer.Scenario.Laser.DistanceFromEdgeMm);
            if (point.UPx >= 0 && point.VPx >= 0
                && point.UPx < renderer.Orientation.DisplayWidth && point.VPx < renderer.Orientation.DisplayHeight)
            {
                yield return new TickTruth(n * ruler.TickStepMm, [point.UPx, point.VPx]);
            }
        }
    }
}
