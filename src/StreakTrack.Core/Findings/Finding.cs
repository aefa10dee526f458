namespace StreakTrack.Core.Findings;

/// <summary>A quality remark that stays with the result it concerns.</summary>
/// <param name="Code">Stable identifier in kebab case, one of <see cref="FindingKinds.All"/>.</param>
/// <param name="Severity">How much it matters.</param>
/// <param name="Message">What was seen in this clip, with the figures.</param>
/// <param name="Advice">What to do about it, usually when filming again.</param>
public sealed record Finding(string Code, FindingSeverity Severity, string Message, string Advice);
