using StreakTrack.Core.Findings;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>The one pass over the whole clip: each frame collapsed to its profile, and a few pictures kept.</summary>
internal sealed class ClipPass : IDisposable
{
    /// <summary>Half the height of a picture, as a share of the strip's length, that shows the streak and its ruler.</summary>
    private const double PictureHeight = 0.05;

    private Task<IReadOnlyList<StreakPicture>> _pictures = Task.FromResult<IReadOnlyList<StreakPicture>>([]);

    private ClipPass(ProfileStore profiles) => Profiles = profiles;

    /// <summary>One profile a frame.</summary>
    public ProfileStore Profiles { get; }

    /// <summary>What else was seen in each frame.</summary>
    public List<PassedFrame> Frames { get; } = [];

    /// <summary>Pictures of the band.</summary>
    public IReadOnlyList<StreakPicture> Pictures => _pictures.GetAwaiter().GetResult();

    /// <summary>Frames announced but not decoded.</summary>
    public int LostFrames { get; private set; }

    /// <summary>The reader used.</summary>
    public string ReaderName { get; private set; } = "";

    /// <summary>The reader's remarks.</summary>
    public IReadOnlyList<Finding> ReaderFindings { get; private set; } = [];

    /// <summary>Passes over a clip.</summary>
    /// <param name="source">The frames.</param>
    /// <param name="survey">What was found out before.</param>
    /// <param name="searched">The region of the coded picture that the survey saw.</param>
    /// <param name="options">Settings.</param>
    /// <param name="progress">Told of the frames passed; may be null.</param>
    /// <param name="rough">Told of what each frame shows at first sight; may be null.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    public static ClipPass Over(
        FrameSource source, StreakSurvey survey, PixelRegion searched, StreakOptions options, IProgress<AnalysisProgress>? progress,
        IProgress<RoughReading>? rough, CancellationToken cancellationToken)
    {
        StripGeometry band = survey.Band;
        var pass = new ClipPass(new ProfileStore(band.LengthPx));
        try
        {
            // A little of the ruler around the band in the pictures, unless the band shows enough of it; all that was searched where the
            // ruler must be followed. What is not asked for need not come through a pipe.
            int margin = Math.Clamp((int)(PictureHeight * band.LengthPx) - band.HalfWidthPx, 8, Math.Max(8, band.HalfWidthPx / 2));
            PixelRegion region = survey.Tracking is null ? band.Region(margin) : searched;
            using IFrameReader reader = source.Open(region);
            pass.ReaderName = reader.Name;
            var light = new LinearLight(reader.Colour, survey.Channel);
            var profiler = new StripProfiler(band, survey.Across, survey.Ambient, survey.ClipLevel) { MayBeCovered = !options.SeparateExposures };
            var keeper = new PictureKeeper(options.Pictures);
            StripSampler? sampler = null;
            float[] picture = [], strip = [], profile = new float[band.LengthPx], before = new float[band.LengthPx];
            Array.Fill(before, float.NaN);
            var frame = new RawFrame();
            PixelRegion part = default;
            while (reader.TryRead(frame))
            {
                cancellationToken.ThrowIfCancellationRequested();
                RulerMotion? motion = survey.Tracking?.Follow(frame, apart: pass.Frames.Count == 0);
                if (sampler is null)
                {
                    // The strip alone, unless it moves about in the frame.
                    part = motion is null ? RegionAlignment.Within(frame.Region, band.Region()) : frame.Region;
                    sampler = new StripSampler(band, part);
                    picture = new float[part.Width * part.Height];
                    strip = new float[sampler.Count];
                }

                light.Convert(frame, part, picture);
                sampler.Sample(picture, motion is RulerMotion moved ? band.Placement(moved) : band.Placement(), strip);
                profiler.Profile(strip, profile);
                if (profiler.Gain > 0.1)
                {
                    // To one exposure, in which ambient light and laser are the same all along.
                    float perGain = (float)(1 / profiler.Gain);
                    for (int i = 0; i < profile.Length; i++)
                        profile[i] *= perGain;
                }

                double change = Change(profile, before);
                profile.CopyTo(before.AsSpan());
                pass.Profiles.Add(profile);
                pass.Frames.Add(new PassedFrame(pass.Frames.Count, frame.TimeSeconds, profiler.ClippedSamples, profiler.Gain, motion, change, profiler.AcrossSigmaPx));
                keeper.Offer(frame, motion);
                rough?.Report(StreakScene.AtFirstSight(profile, frame, band, survey.Across.SigmaPx, options.ThresholdFraction));
                progress?.Report(new AnalysisProgress("measuring frame", pass.Frames.Count, source.Facts.AnnouncedFrames));
            }

            pass.LostFrames = reader.LostFrames;
            pass.ReaderFindings = reader.Findings;

            // Pictures are wanted last of all: what is measured need not wait for them.
            (DisplayOrientation orientation, ColourDescription colour) = (source.Facts.Orientation, reader.Colour);
            pass._pictures = Task.Run(() => keeper.Develop(orientation, colour), CancellationToken.None);
            return pass;
        }
        catch
        {
            pass.Dispose();
            throw;
        }
    }

    /// <summary>A pass that was made before.</summary>
    public static ClipPass Restored(
        ProfileStore profiles, IEnumerable<PassedFrame> frames, IReadOnlyList<StreakPicture> pictures, int lostFrames, string readerName,
        IReadOnlyList<Finding> readerFindings)
    {
        var pass = new ClipPass(profiles)
        {
            _pictures = Task.FromResult(pictures), LostFrames = lostFrames, ReaderName = readerName, ReaderFindings = readerFindings,
        };
        pass.Frames.AddRange(frames);
        return pass;
    }

    public void Dispose() => Profiles.Dispose();

    // NaN for the first frame, which nothing was before.
    private static double Change(float[] profile, float[] before)
    {
        double sum = 0;
        int count = 0;
        for (int i = 0; i < profile.Length; i++)
        {
            double d = profile[i] - before[i];
            if (double.IsNaN(d))
                continue;
            sum += d * d;
            count++;
        }

        return count > 0 ? Math.Sqrt(sum / count) : double.NaN;
    }
}
