namespace StreakTrack.Core.Fitting;

/// <summary>One parameter of a model.</summary>
/// <param name="Name">Name with its unit, as in the record: <c>tau_s</c>.</param>
/// <param name="Meaning">What it is, in a few words.</param>
/// <param name="LowerBound">Smallest value that makes physical sense; negative infinity where there is none.</param>
public sealed record EnvelopeParameter(string Name, string Meaning, double LowerBound = double.NegativeInfinity);
