namespace StreakTrack.Core;

/// <summary>The data handed in cannot be used, through no fault of the calling code: a damaged clip, two marks on one spot.</summary>
/// <remarks>The command line turns it into exit code 3.</remarks>
public sealed class UnusableInputException : Exception
{
    /// <summary>Creates the exception.</summary>
    /// <param name="subject">What could not be used: a path, "marks.csv line 4".</param>
    /// <param name="problem">What is wrong with it, without a full stop.</param>
    /// <param name="nextStep">What the user can do about it, as a full sentence.</param>
    /// <param name="inner">The cause, where there is one.</param>
    public UnusableInputException(string subject, string problem, string nextStep, Exception? inner = null)
        : base($"{subject}: {problem}. {nextStep}", inner)
    {
        Subject = subject;
        Problem = problem;
        NextStep = nextStep;
    }

    /// <summary>What could not be used.</summary>
    public string Subject { get; }

    /// <summary>What is wrong with it.</summary>
    public string Problem { get; }

    /// <summary>What the user can do about it.</summary>
    public string NextStep { get; }
}
