using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;
using StreakTrack.Imaging.Streaks;
using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Accuracy;

/// <summary>How well the ruler was followed in one clip: place of the band less the picture's true displacement, about the clip's mean, because where the
/// band lies in the picture is no matter of following.</summary>
/// <param name="Followed">Whether the clip was followed at all.</param>
/// <param name="AlongPx">Error of each frame to the right.</param>
/// <param name="AcrossPx">Error of each frame downward.</param>
/// <param name="UncertaintyPx">Stated standard uncertainty of each frame's shift.</param>
/// <param name="Findings">Codes of the findings of the streak stage.</param>
internal sealed record RegistrationResult(
    bool Followed, IReadOnlyList<double> AlongPx, IReadOnlyList<double> AcrossPx, IReadOnlyList<double> UncertaintyPx, IReadOnlyList<string> Findings)
{
    /// <summary>Renders a clip, follows the ruler in it, and removes it again.</summary>
    public static RegistrationResult Of(ClipScenario scenario)
    {
        string folder = Directory.CreateTempSubdirectory("streaktrack-accuracy-").FullName;
        try
        {
            SimulatedClip clip = SimulatedClip.Write(scenario, folder);
            RulerScale scale = RulerScaleFitter.Fit(clip.Marks, new RulerScaleOptions());
            using var study = StreakStudy.Of(ClipFile.Inspect(clip.ClipPath), scale, new StreakOptions(), null, null, null, CancellationToken.None);
            string[] findings = [.. study.Measurement.Findings.Select(f => f.Code)];
            if (study.Motions is not IReadOnlyList<RulerMotion> motions)
                return new RegistrationResult(false, [], [], [], findings);

            // The band goes with the ruler: its middle in each frame.
            PicturePoint[] places = [.. clip.Truth.Frames.Select(f => Middle(study.ProfileOf(f.Frame).BandCorners))];
            double[] along = [.. places.Zip(clip.Truth.Frames, (p, f) => p.UPx - f.ShiftPx[0])];
            double[] across = [.. places.Zip(clip.Truth.Frames, (p, f) => p.VPx - f.ShiftPx[1])];
            return new RegistrationResult(
                true, AboutMean(along), AboutMean(across), [.. motions.Select(m => m.ShiftUncertaintyPx)], findings);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>Root mean square.</summary>
    public static double Rms(IEnumerable<double> values) => Math.Sqrt(values.Average(v => v * v));

    private static double[] AboutMean(double[] values)
    {
        double mean = values.Average();
        return [.. values.Select(v => v - mean)];
    }

    private static PicturePoint Middle(IReadOnlyList<PicturePoint> corners) => new(corners.Average(c => c.UPx), corners.Average(c => c.VPx));
}
