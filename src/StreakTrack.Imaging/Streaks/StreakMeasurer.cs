using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Measures the streak's turning points in every frame of a clip.</summary>
public static class StreakMeasurer
{
    /// <summary>Measures a clip.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="axis">The ruler's line in the displayed picture.</param>
    /// <param name="options">Settings.</param>
    /// <param name="progress">Told of the frames measured; may be null.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="Core.UnusableInputException">The clip cannot be decoded, or has no streak.</exception>
    public static StreakMeasurement Measure(
        ClipFacts facts, RulerAxis axis, StreakOptions options, IProgress<AnalysisProgress>? progress, CancellationToken cancellationToken)
    {
        progress?.Report(new AnalysisProgress("looking for the streak", 0, null));
        IReadOnlyList<RawFrame> sample = ClipFile.SampleFrames(facts, options.SurveyFrames, null, options.Reader, cancellationToken);
        StreakSurvey survey = StreakSurvey.Of(facts, axis, options, sample);
        StripGeometry band = survey.Band;

        var readings = new List<StreakReading>();
        using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = options.Reader, Region = band.Region() });
        var frame = new RawFrame();
        var light = new LinearLight(reader.Colour, survey.Channel);
        var profiler = new StripProfiler(band, survey.AcrossSigmaPx);
        var fitter = new StreakProfileFitter();
        StripSampler? sampler = null;
        float[] picture = [], strip = [], profile = new float[band.LengthPx];
        while (reader.TryRead(frame))
        {
            cancellationToken.ThrowIfCancellationRequested();
            if (sampler is null)
            {
                sampler = new StripSampler(band, frame.Region);
                picture = new float[frame.Region.Width * frame.Region.Height];
                strip = new float[sampler.Count];
            }

            light.Convert(frame, picture);
            sampler.Sample(picture, strip);
            profiler.Profile(strip, survey.Ambient, profile, out double noise);
            readings.Add(Read(frame, band, profile, noise, survey.SpotSigmaPx, fitter, options));
            progress?.Report(new AnalysisProgress("measuring frame", readings.Count, facts.AnnouncedFrames));
        }

        return new StreakMeasurement
        {
            Readings = readings,
            Band = band,
            BandOffsetPx = survey.OffsetPx,
            Channel = survey.Channel,
            SpotSigmaPx = survey.SpotSigmaPx,
            LostFrames = reader.LostFrames,
            ReaderName = reader.Name,
            Findings = [],
        };
    }

    private static StreakReading Read(
        RawFrame frame, StripGeometry band, float[] profile, double noise, double sigma, StreakProfileFitter fitter, StreakOptions options)
    {
        var reading = new StreakReading { Frame = frame.Index, TimeSeconds = frame.TimeSeconds };
        if (CoarseStreak.Find(profile, noise, sigma, options.ThresholdFraction) is not CoarseStreak coarse)
            return reading with { Flags = FrameFlags.NoStreak };

        FrameFlags flags = FrameFlags.None;
        double edge = 3 * sigma;
        if (coarse.FirstEndPx < edge || coarse.SecondEndPx > band.LengthPx - 1 - edge)
            flags |= FrameFlags.CutOff;
        reading = reading with
        {
            ThresholdFirstEnd = band.ToDisplay(coarse.FirstEndPx, 0),
            ThresholdSecondEnd = band.ToDisplay(coarse.SecondEndPx, 0),
            Brightness = coarse.TotalLight,
            SpotSigmaPx = sigma,
            Flags = flags,
        };

        StreakProfileFit fit = fitter.Fit(profile, noise, coarse.Guess(sigma), freeSigma: false);
        if (!fit.Converged)
            return reading with { Flags = flags | FrameFlags.ProfileFailed };
        StreakProfileParameters p = fit.Parameters;
        if (p.HalfLengthPx < options.SmallestHalfLengthSigma * sigma)
            flags |= FrameFlags.BelowUsableRange;
        return reading with
        {
            FirstEnd = band.ToDisplay(p.CentrePx - p.HalfLengthPx, 0),
            SecondEnd = band.ToDisplay(p.CentrePx + p.HalfLengthPx, 0),
            HalfLengthUncertaintyPx = fit.HalfLengthUncertaintyPx,
            Flags = flags,
        };
    }
}
