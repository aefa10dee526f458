namespace StreakTrack.Imaging.Clips;

/// <summary>Something of the machine's is missing: a native library, a program. The command line turns it into exit code 4.</summary>
public sealed class MissingComponentException : Exception
{
    /// <summary>Creates the exception.</summary>
    /// <param name="problem">What is missing, without a full stop.</param>
    /// <param name="nextStep">What the user can do about it, as a full sentence.</param>
    /// <param name="inner">The cause, where there is one.</param>
    public MissingComponentException(string problem, string nextStep, Exception? inner = null)
        : base($"{problem}. {nextStep}", inner)
    {
    }
}
