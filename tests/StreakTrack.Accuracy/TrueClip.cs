using StreakTrack.Core.Scale;

namespace StreakTrack.Accuracy;

/// <summary>A clip with what is true of it, whoever simulated it.</summary>
/// <param name="Group">Kind of clip.</param>
/// <param name="Name">Name within the group.</param>
/// <param name="ClipPath">The clip.</param>
/// <param name="Marks">The ruler marks.</param>
/// <param name="TauS">Decay time, in s.</param>
/// <param name="FrequencyHz">Frequency of the free oscillation, in Hz.</param>
/// <param name="DistanceMm">Distance of the optical lever, in mm.</param>
/// <param name="AmplitudesMm">True amplitude of each frame at mid-exposure, in mm.</param>
/// <param name="SpotSigmaMm">Standard deviation of the spot along the ruler, in mm.</param>
internal sealed record TrueClip(
    string Group, string Name, string ClipPath, IReadOnlyList<RulerMark> Marks, double TauS, double FrequencyHz, double DistanceMm,
    IReadOnlyList<double> AmplitudesMm, double SpotSigmaMm);
