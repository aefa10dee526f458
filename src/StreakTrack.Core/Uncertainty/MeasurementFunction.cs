namespace StreakTrack.Core.Uncertainty;

/// <summary>The relation between the inputs of a measurement and its result.</summary>
/// <param name="inputs">Values of the inputs, in the order of the model.</param>
/// <returns>The value of the result, in the model's unit.</returns>
public delegate double MeasurementFunction(ReadOnlySpan<double> inputs);
