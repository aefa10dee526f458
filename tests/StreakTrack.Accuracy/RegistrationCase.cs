using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Accuracy;

/// <summary>A clip whose picture moves, for measuring how well the ruler is followed.</summary>
/// <param name="Name">Kind of movement.</param>
/// <param name="PxPerMm">Scale.</param>
/// <param name="ShakeRmsPx">Tremble along each axis, root mean square.</param>
/// <param name="DriftAlongPxPerSecond">Drift to the right.</param>
/// <param name="DriftAcrossPxPerSecond">Drift downward.</param>
internal sealed record RegistrationCase(
    string Name, int PxPerMm, double ShakeRmsPx, double DriftAlongPxPerSecond = 0, double DriftAcrossPxPerSecond = 0)
{
    /// <summary>The cases of the standing measurement.</summary>
    public static IReadOnlyList<RegistrationCase> All { get; } =
    [
        .. new[] { 4, 7 }.SelectMany(px => new RegistrationCase[]
        {
            new("drift 2 px/s", px, 0, 2, -1), new("tremble 1 px", px, 1), new("tremble 3 px", px, 3), new("tremble 6 px", px, 6),
        }),
    ];

    /// <summary>The clip that a seed gives: small pictures, 2.5 s.</summary>
    public ClipScenario Scenario(int seed) => DisturbedClips.Plain with
    {
        Name = Name, Seed = seed, DurationSeconds = 2.5,
        Camera = DisturbedClips.Plain.Camera with
        {
            WidthPx = PxPerMm == 4 ? 520 : 960, HeightPx = PxPerMm == 4 ? 192 : 400, PxPerMm = PxPerMm, ShakeRmsPx = ShakeRmsPx,
            DriftAlongPxPerSecond = DriftAlongPxPerSecond, DriftAcrossPxPerSecond = DriftAcrossPxPerSecond,
        },
    };
}
