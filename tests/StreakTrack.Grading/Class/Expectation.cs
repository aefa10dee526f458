using StreakTrack.Core.Submissions;

namespace StreakTrack.Grading.Class;

/// <summary>What a submission of the class has wrong, and what must be said of it.</summary>
/// <param name="Submission">Name of its folder or file.</param>
/// <param name="Fault">What is wrong with it, for people.</param>
/// <param name="Verdict">The verdict that is due.</param>
/// <param name="Codes">Findings that must be among the reasons.</param>
/// <param name="Resembles">Submissions that a resemblance must be hinted at with; empty where none may be.</param>
/// <param name="MustNotHave">Findings that must not be among the reasons.</param>
internal sealed record Expectation(
    string Submission, string Fault, Verdict Verdict, IReadOnlyList<string> Codes, IReadOnlyList<string> Resembles, IReadOnlyList<string> MustNotHave);
