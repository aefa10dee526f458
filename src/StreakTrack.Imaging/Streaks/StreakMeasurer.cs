using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Measures the streak's turning points in every frame of a clip.</summary>
/// <remarks>
/// The clip is decoded once, and each frame is collapsed to the laser's light along the streak. What all frames have in common (ambient
/// light, spot width, exposure, the ruler's reflectance) is estimated from these profiles together; then each is fitted.
/// </remarks>
public static class StreakMeasurer
{
    /// <summary>Measures a clip.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="scale">The ruler's scale in the clip's first frame; where the ruler moves in the picture, it is followed from
    /// there, and all
    /// places in the result belong to the first frame.</param>
    /// <param name="options">Settings.</param>
    /// <param name="progress">Told of the frames measured; may be null.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="Core.UnusableInputException">The clip cannot be decoded, or has no streak.</exception>
    public static StreakMeasurement Measure(
        ClipFacts facts, RulerScale scale, StreakOptions options, IProgress<AnalysisProgress>? progress,
        CancellationToken cancellationToken)
    {
        options.Validate();
        progress?.Report(new AnalysisProgress("looking for the streak", 0, null));
        int smallerSide = Math.Min(facts.Orientation.CodedWidth, facts.Orientation.CodedHeight);
        StripGeometry wide = StripGeometry.Along(facts.Orientation, RulerAxis.Of(scale), options.SearchHalfWidthPx ?? smallerSide / 4);
        IReadOnlyList<RawFrame> sample =
            ClipFile.SampleFrames(facts, options.SurveyFrames, wide.Region(), options.Reader, cancellationToken);
        StreakSurvey survey = StreakSurvey.Of(facts, scale, wide, sample, options.Channel);

        using ClipPass pass = ClipPass.Over(facts, survey, wide.Region(), options, progress, cancellationToken);
        StreakScene scene = StreakScene.Of(pass.Profiles, survey.Band.LengthPx, survey.Across.SigmaPx, options, cancellationToken);
        StreakOptics optics = StreakOptics.Of(scene, survey.Across.SigmaPx, cancellationToken);

        var readings = new StreakReading[pass.Profiles.Count];
        Parallel.For(0, readings.Length, new ParallelOptions { CancellationToken = cancellationToken },
            () => new StreakOptics.Workspace(scene.Length), (k, _, work) =>
            {
                readings[k] = Read(pass.Frames[k], survey.Band, scene, optics, options, work);
                return work;
            }, _ => { });
        // A disturbance r of the brightness over about a spot moves an edge by r times peak over slope, about r sigma; of two ends the
        // half
        // length takes 1/sqrt 2.
        UncertaintyCheck.Scale(readings, scene.Noise.RelativeSd * optics.SigmaPx / Math.Sqrt(2));

        return new StreakMeasurement
        {
            Readings = readings,
            Band = survey.Band,
            BandOffsetPx = survey.OffsetPx,
            Channel = survey.Channel,
            SpotSigmaPx = optics.SigmaPx,
            ExposurePeriods = double.IsNaN(optics.SigmaUncertaintyPx) ? double.NaN : optics.Periods,
            LostFrames = pass.LostFrames,
            ReaderName = pass.ReaderName,
            Findings = [.. pass.ReaderFindings, .. StreakFindings.Of(readings, pass.Frames, survey, optics)],
            Pictures = pass.Pictures,
        };
    }

    /// <summary>Largest uncertainty of a half length recovered from an arc, as a share of the spot's sigma or of a tenth of the half
    /// length.</summary>
    private const double RecoveredUncertainty = 0.2;

    private static StreakReading Read(
        PassedFrame frame, StripGeometry band, StreakScene scene, StreakOptics optics, StreakOptions options, StreakOptics.Workspace work)
    {
        var reading = new StreakReading { Frame = frame.Index, TimeSeconds = frame.TimeSeconds };
        if (scene.Coarse[frame.Index] is not CoarseStreak coarse)
            return reading with { Flags = FrameFlags.NoStreak };

        double sigma = optics.SigmaPx;
        FrameFlags flags = frame.ClippedSamples > 0 ? FrameFlags.Saturated : FrameFlags.None;
        double edge = 3 * sigma;
        if (coarse.FirstEndPx < edge || coarse.SecondEndPx > band.LengthPx - 1 - edge)
            flags |= FrameFlags.CutOff;
        if (Math.Min(coarse.FirstPeak, coarse.SecondPeak) < 5 * scene.Noise.DarkSd)
            flags |= FrameFlags.Faint;
        reading = reading with
        {
            ThresholdFirstEnd = band.ToDisplay(coarse.FirstEndPx, 0),
            ThresholdSecondEnd = band.ToDisplay(coarse.SecondEndPx, 0),
            Brightness = coarse.TotalLight * Math.Max(frame.Gain, 0),
            SpotSigmaPx = sigma,
            Flags = flags,
        };

        scene.Read(frame.Index, work.Light);
        StreakShape start = optics.Guess(coarse, frame.Index, work.Light, scene.Noise, work.Scan);
        ProfileFit fit = work.Fitter.Fit(work.Light, optics.Response, scene.Noise, start, optics.Known(0, optics.PeriodsSd));
        if (!fit.Converged)
            return reading with { Flags = flags | FrameFlags.ProfileFailed };
        StreakShape p = fit.Shape;
        if (p.HalfLengthPx < options.SmallestHalfLengthSigma * sigma)
            flags |= FrameFlags.BelowUsableRange;

        if (optics.IsPartial)
        {
            // The half length of a swing that was seen in part is used when its arc tells it nearly as well as whole swings do.
            bool recovered = fit.HalfLengthUncertaintyPx < RecoveredUncertainty * Math.Max(sigma, 0.1 * p.HalfLengthPx);
            flags |= recovered ? FrameFlags.Recovered : FrameFlags.PartialExposure;
        }
        else
        {
            // The threshold's known offset lies between that of a long streak and that of a resting spot; allow half a sigma beyond.
            double offset = coarse.HalfLengthPx - p.HalfLengthPx, slack = 3 * fit.HalfLengthUncertaintyPx;
            if (!(offset > (0.2 * sigma) - slack && offset < (1.7 * sigma) + slack))
                flags |= FrameFlags.EstimatesDisagree;
        }

        return reading with
        {
            FirstEnd = band.ToDisplay(p.CentrePx - p.HalfLengthPx, 0),
            SecondEnd = band.ToDisplay(p.CentrePx + p.HalfLengthPx, 0),
            HalfLengthUncertaintyPx = fit.HalfLengthUncertaintyPx,
            Flags = flags,
        };
    }
}
