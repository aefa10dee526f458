namespace StreakTrack.Synthesis.Scenarios;

/// <summary>Kinds of practice clips.</summary>
public enum PracticePreset
{
    /// <summary>A plain decay, filmed as the guide says: dim room, long exposure, camera square to the ruler and at rest.</summary>
    Clean,

    /// <summary>A plain decay, filmed badly in several ways at once: light in the room, a slanted view, a hand, a short exposure.</summary>
    Hard,

    /// <summary>Filmed well, but not a plain decay: a drive left on, drag, a rise, beats, or an exposure that changes.</summary>
    Trick,
}
