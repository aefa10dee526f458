namespace StreakTrack.Core.Findings;

/// <summary>One row of the table of findings: everything about a remark that does not depend on the clip.</summary>
/// <param name="Code">Stable identifier in kebab case.</param>
/// <param name="Severity">How much it usually matters.</param>
/// <param name="Meaning">One sentence: what the remark says about a clip, its marks or a fit.</param>
/// <param name="Advice">What to do about it.</param>
public sealed record FindingKind(string Code, FindingSeverity Severity, string Meaning, string Advice)
{
    /// <summary>A finding of this kind about a particular clip.</summary>
    /// <param name="message">What was seen, with its figures and units.</param>
    public Finding With(string message) => new(Code, Severity, message, Advice);

    /// <summary>A finding of this kind with a severity other than the usual one.</summary>
    /// <param name="severity">The severity in this case.</param>
    /// <param name="message">What was seen, with its figures and units.</param>
    public Finding With(FindingSeverity severity, string message) => new(Code, severity, message, Advice);
}
