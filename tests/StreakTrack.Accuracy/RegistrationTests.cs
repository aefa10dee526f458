using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Streaks;
using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Accuracy;

/// <summary>How well the ruler is followed, against the picture's true displacement in each frame.</summary>
public class RegistrationTests
{
    // Wanted are a few hundredths of a pixel. A drift, as of a stabiliser's crop, is followed so well; of a hand's tremble single frames are missed by up
    // to half a pixel, so that its bound is that of the streak's ends, which are measured to about 0.2 px.
    [Theory]
    [InlineData("hand", 3, 0, 0, 0.1)]
    [InlineData("drift", 0, 2, -1, 0.05)]
    public void Ruler_is_followed_to_a_part_of_a_pixel(string name, double shakePx, double driftAlong, double driftAcross, double largestRmsPx)
    {
        ClipScenario plain = DisturbedClips.Plain;
        string folder = Directory.CreateTempSubdirectory("streaktrack-accuracy-").FullName;
        try
        {
            SimulatedClip clip = SimulatedClip.Write(plain with
            {
                Name = name, Seed = 8400, DurationSeconds = 2.5,
                Camera = plain.Camera with
                {
                    WidthPx = 960, HeightPx = 400, PxPerMm = 7, ShakeRmsPx = shakePx, DriftAlongPxPerSecond = driftAlong, DriftAcrossPxPerSecond = driftAcross,
                },
            }, folder);
            RulerScale scale = RulerScaleFitter.Fit(clip.Marks, new RulerScaleOptions());
            using var study = StreakStudy.Of(ClipFile.Inspect(clip.ClipPath), scale, new StreakOptions(), null, null, CancellationToken.None);

            // The band goes with the ruler: its middle in each frame.
            PicturePoint[] places = [.. clip.Truth.Frames.Select(f => Middle(study.ProfileOf(f.Frame).BandCorners))];
            double[] along = [.. places.Zip(clip.Truth.Frames, (p, f) => p.UPx - f.ShiftPx[0])];
            double[] across = [.. places.Zip(clip.Truth.Frames, (p, f) => p.VPx - f.ShiftPx[1])];
            Assert.InRange(Rms(along), 0, largestRmsPx);
            Assert.InRange(Rms(across), 0, largestRmsPx);
            Assert.Contains(study.Measurement.Findings, f => f.Code == "movement");
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static PicturePoint Middle(IReadOnlyList<PicturePoint> corners) => new(corners.Average(c => c.UPx), corners.Average(c => c.VPx));

    // About the mean: where the band lies in the picture is no matter of following.
    private static double Rms(double[] values)
    {
        double mean = values.Average();
        return Math.Sqrt(values.Average(v => (v - mean) * (v - mean)));
    }
}
