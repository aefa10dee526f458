namespace StreakTrack.Core.Fitting;

/// <summary>The models by name.</summary>
public static class EnvelopeModels
{
    /// <summary>Decay to zero.</summary>
    public static EnvelopeModel Decay { get; } = new DecayModel();

    /// <summary>Decay onto a floor of the reading.</summary>
    public static EnvelopeModel DecayFloor { get; } = new DecayFloorModel();

    /// <summary>Exponential approach to another level.</summary>
    public static EnvelopeModel DecayLevel { get; } = new DecayLevelModel();

    /// <summary>Rise from rest.</summary>
    public static EnvelopeModel Rise { get; } = new RiseModel();

    /// <summary>Decay with amplitude-dependent drag.</summary>
    public static EnvelopeModel Drag { get; } = new DragModel();

    /// <summary>Decay with dry friction.</summary>
    public static EnvelopeModel DryFriction { get; } = new DryFrictionModel();

    /// <summary>Names of all models, in the order in which they are explained.</summary>
    public static IReadOnlyList<string> Names { get; } =
        ["decay", "decay-floor", "decay-level", "rise", "transient", "drag", "dry-friction"];

    /// <summary>The forms of a model: one, except for the transient, which has a shorter form for a start from rest.</summary>
    /// <param name="name">Name of the model.</param>
    /// <exception cref="ArgumentException">There is no model of that name.</exception>
    public static IReadOnlyList<EnvelopeModel> FormsOf(string name) => name switch
    {
        "decay" => [Decay],
        "decay-floor" => [DecayFloor],
        "decay-level" => [DecayLevel],
        "rise" => [Rise],
        "transient" => [TransientModel.FromRest, TransientModel.General],
        "drag" => [Drag],
        "dry-friction" => [DryFriction],
        _ => throw new ArgumentException($"There is no model \"{name}\"; the models are {string.Join(", ", Names)}.", nameof(name)),
    };
}
