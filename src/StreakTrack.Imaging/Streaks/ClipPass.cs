using StreakTrack.Core.Findings;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Streaks;

/// <summary>The one pass over the whole clip: each frame collapsed to its profile, and a few pictures kept.</summary>
internal sealed class ClipPass : IDisposable
{
    private ClipPass(ProfileStore profiles) => Profiles = profiles;

    /// <summary>One profile a frame.</summary>
    public ProfileStore Profiles { get; }

    /// <summary>What else was seen in each frame.</summary>
    public List<PassedFrame> Frames { get; } = [];

    /// <summary>Pictures of the band.</summary>
    public IReadOnlyList<StreakPicture> Pictures { get; private set; } = [];

    /// <summary>Frames announced but not decoded.</summary>
    public int LostFrames { get; private set; }

    /// <summary>The reader used.</summary>
    public string ReaderName { get; private set; } = "";

    /// <summary>The reader's remarks.</summary>
    public IReadOnlyList<Finding> ReaderFindings { get; private set; } = [];

    /// <summary>Passes over a clip.</summary>
    public static ClipPass Over(
        ClipFacts facts, StreakSurvey survey, StreakOptions options, IProgress<AnalysisProgress>? progress,
        CancellationToken cancellationToken)
    {
        StripGeometry band = survey.Band;
        var pass = new ClipPass(new ProfileStore(band.LengthPx));
        try
        {
            // A little of the ruler around the band in the pictures.
            int margin = Math.Max(8, band.HalfWidthPx / 2);
            PixelRegion region = band.Region(margin);
            using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = options.Reader, Region = region });
            pass.ReaderName = reader.Name;
            var light = new LinearLight(reader.Colour, survey.Channel);
            var profiler = new StripProfiler(band, survey.Across, survey.Ambient, survey.ClipLevel);
            var keeper = new PictureKeeper(options.Pictures);
            StripSampler? sampler = null;
            float[] picture = [], strip = [], profile = new float[band.LengthPx];
            var frame = new RawFrame();
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
                profiler.Profile(strip, profile);
                pass.Profiles.Add(profile);
                pass.Frames.Add(new PassedFrame(pass.Frames.Count, frame.TimeSeconds, profiler.ClippedSamples, profiler.Gain));
                keeper.Offer(frame);
                progress?.Report(new AnalysisProgress("measuring frame", pass.Frames.Count, facts.AnnouncedFrames));
            }

            pass.LostFrames = reader.LostFrames;
            pass.ReaderFindings = reader.Findings;
            pass.Pictures = keeper.Develop(facts.Orientation, reader.Colour);
            return pass;
        }
        catch
        {
            pass.Dispose();
            throw;
        }
    }

    public void Dispose() => Profiles.Dispose();
}
