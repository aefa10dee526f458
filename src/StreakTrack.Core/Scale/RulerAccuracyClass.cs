namespace StreakTrack.Core.Scale;

/// <summary>Accuracy class of a ruler: Directive 2014/32/EU, annex X (material measures of length). The class stands on the ruler in an
/// oval, in Roman figures.</summary>
public enum RulerAccuracyClass
{
    /// <summary>The ruler states no class: its own error is not counted.</summary>
    None,

    /// <summary>Class I: (0.1 + 0.1 L) mm.</summary>
    I,

    /// <summary>Class II: (0.3 + 0.2 L) mm.</summary>
    II,

    /// <summary>Class III: (0.6 + 0.4 L) mm.</summary>
    III,
}
