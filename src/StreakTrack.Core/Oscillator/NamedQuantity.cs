namespace StreakTrack.Core.Oscillator;

/// <summary>A physical quantity as reports and records list it.</summary>
/// <param name="Key">Name in snake case that carries the unit, as in the record: <c>q</c>, <c>linewidth_power_hz</c>.</param>
/// <param name="Label">Name for people, lower case, without the unit.</param>
/// <param name="Unit">SI unit symbol; empty for a pure number.</param>
/// <param name="Relation">The relation that gave it, in symbols.</param>
/// <param name="Value">The value, in <paramref name="Unit"/>.</param>
public sealed record NamedQuantity(string Key, string Label, string Unit, string Relation, UncertainValue Value);
