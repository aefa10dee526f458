using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;
using TransferFunction = StreakTrack.Imaging.Clips.TransferFunction;

namespace StreakTrack.Imaging.Tests.Photos;

/// <summary>Resonance curves photographed point by point, in a folder of their own.</summary>
internal sealed class PhotographedCurve : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("streaktrack-photos-");

    public PhotographedCurve(
        IReadOnlyList<double> frequenciesHz, double ambient = 0.05, double shakePx = 0, double exposureSeconds = 0.5, double level = 0.06,
        Func<int, PhotoSettings>? settings = null, string extension = ".jpg", int width = 1280, double pxPerMm = 7)
    {
        Photos = SimulatedPhotos.Write(
            new ClipScenario
            {
                Name = "curve",
                Seed = 4711,
                DurationSeconds = HoldSeconds * frequenciesHz.Count,
                Motion = new SteppedSweepMotion
                {
                    FrequencyHz = FrequencyHz, TauSeconds = TauSeconds, ResonanceAmplitudeMm = 38, DriveFrequenciesHz = frequenciesHz, HoldSeconds = HoldSeconds,
                },
                Lever = new LeverSettings { DistanceMm = DistanceMm, RestReadingMm = 120 },
                Laser = new LaserSettings { SigmaAlongMm = 0.8, SigmaAcrossMm = 0.8, Level = level, DistanceFromEdgeMm = 4.3 },
                Scene = new SceneSettings { AmbientLevel = ambient, BackgroundReflectance = 0.14 },
                Camera = new CameraSettings
                {
                    WidthPx = width, HeightPx = 400, PxPerMm = pxPerMm, RollDegrees = 0.4, FramesPerSecond = 1, ExposureSeconds = exposureSeconds,
                    Transfer = TransferFunction.Srgb, ShakeRmsPx = shakePx,
                },
            },
            _folder.FullName, settings, extension);
    }

    public const double FrequencyHz = 38.9, TauSeconds = 0.6, DistanceMm = 1140;

    // Twenty decay times: what is left of the step before is far below a micrometre.
    private const double HoldSeconds = 12;

    public SimulatedPhotos Photos { get; }

    public string Folder => _folder.FullName;

    public void Dispose() => _folder.Delete(recursive: true);
}
