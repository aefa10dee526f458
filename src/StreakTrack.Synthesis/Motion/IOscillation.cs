namespace StreakTrack.Synthesis.Motion;

/// <summary>The mirror's swing in small-angle millimetres: twice the mirror's angle times the lever's distance.</summary>
internal interface IOscillation
{
    /// <summary>Deflection at a time, in small-angle mm.</summary>
    double Deflection(double timeSeconds);

    /// <summary>Amplitude at a time, in small-angle mm.</summary>
    double Envelope(double timeSeconds);
}
