using StreakTrack.Core;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Oscillator;

namespace StreakTrack.Reporting.Pages;

/// <summary>What the record's names are called in a report. A name that is not listed is shown as it stands.</summary>
internal static class Wording
{
    private static readonly Dictionary<string, ModelWording> Models = new()
    {
        ["decay"] = new("decay", "exponential decay", "A(t) = A₀ exp(−(t − t₀)/τ)"),
        ["decay-floor"] = new("decay", "exponential decay with a floor", "A(t) = A₀ exp(−(t − t₀)/τ) + F"),
        ["decay-level"] = new("decay", "exponential decay to another level", "A(t) = A₁ + (A₀ − A₁) exp(−(t − t₀)/τ)"),
        ["rise"] = new("rise", "exponential rise", "A(t) = A₁ (1 − exp(−(t − t₀)/τ))"),
        ["transient"] = new("transient", "transient after a change of the drive",
            "A(t) = |z₁ + (z₀ − z₁) exp(−(t − t₀)/τ + 2π i δf (t − t₀))|"),
        ["drag"] = new("decay", "decay with drag that grows with the amplitude", "dA/dt = −A/τ − b A²"),
        ["dry-friction"] = new("decay", "decay with dry friction", "dA/dt = −A/τ − c"),
    };

    private static readonly Dictionary<string, ParameterWording> Parameters = new()
    {
        ["tau_s"] = new("τ", "decay time of the amplitude", "s"),
        ["amplitude0_mm"] = new("A₀", "amplitude at the switching", "mm"),
        ["amplitude1_mm"] = new("A₁", "final amplitude", "mm"),
        ["floor_mm"] = new("F", "floor", "mm"),
        ["t0_s"] = new("t₀", "time of the switching", "s"),
        ["detuning_hz"] = new("δf", "detuning", "Hz"),
        ["drag_per_mm_s"] = new("b", "drag", "mm⁻¹ s⁻¹"),
        ["friction_mm_per_s"] = new("c", "dry friction", "mm s⁻¹"),
        ["start_in_phase_mm"] = new("Re z₀", "start, in phase with the final motion", "mm"),
        ["start_quadrature_mm"] = new("Im z₀", "start, in quadrature to the final motion", "mm"),
    };

    private static readonly (string Suffix, string Unit)[] Suffixes =
    [
        ("_per_mm_s", "mm⁻¹ s⁻¹"), ("_mm_per_s", "mm s⁻¹"), ("_per_s", "s⁻¹"), ("_mrad", "mrad"), ("_rad", "rad"), ("_mm", "mm"),
        ("_hz", "Hz"), ("_px", "px"), ("_s", "s"), ("_a", "A"), ("_v", "V"), ("_pa", "Pa"), ("_mt", "mT"),
    ];

    // The labels live with the quantities themselves; any oscillator with a frequency lists them all.
    private static readonly Dictionary<string, NamedQuantity> Quantities =
        OscillatorQuantities.From(new UncertainValue(1, 0), new UncertainValue(10, 0)).All.ToDictionary(q => q.Key);

    /// <summary>How a model is called, and its formula; both the bare name for models not listed.</summary>
    public static ModelWording Model(string name) => Models.TryGetValue(name, out ModelWording? known) ? known : new(name, name, "");

    /// <summary>What tells apart two forms of a model that share its name: the curve.</summary>
    public static string Form(string? formula) => formula switch
    {
        null => "",
        _ when formula == TransientModel.FromRest.Formula => ", from rest",
        _ when formula == TransientModel.General.Formula => ", from any motion",
        _ => $", {formula}",
    };

    /// <summary>How a fit parameter is called.</summary>
    public static ParameterWording Parameter(string key) =>
        Parameters.TryGetValue(key, out ParameterWording? known) ? known : FromKey(key);

    /// <summary>How a physical quantity is called, and the relation behind it.</summary>
    public static (string Label, string Unit, string Relation) Quantity(string key)
    {
        if (Quantities.TryGetValue(key, out NamedQuantity? known))
            return (known.Label, known.Unit, known.Relation);
        ParameterWording plain = FromKey(key);
        return (plain.Label, plain.Unit, "");
    }

    /// <summary>How the quantity of an uncertainty budget is called.</summary>
    public static string Budget(string quantity) => quantity switch
    {
        "tau" => "Decay time τ",
        "Q" => "Quality factor Q",
        "amplitude at the mirror" => "Amplitude at the mirror",
        _ => quantity,
    };

    /// <summary>The quantity and unit that a column's name tells: "gap_mm" is a gap in mm.</summary>
    public static ParameterWording Column(string name) => FromKey(name);

    /// <summary>The title of the axis for a column: "gap / mm".</summary>
    public static string Axis(string column)
    {
        ParameterWording wording = FromKey(column);
        return wording.Unit.Length == 0 ? wording.Label : $"{wording.Label} / {wording.Unit}";
    }

    private static ParameterWording FromKey(string key)
    {
        foreach ((string suffix, string unit) in Suffixes)
        {
            if (key.EndsWith(suffix, StringComparison.Ordinal))
                return new ParameterWording("", key[..^suffix.Length].Replace('_', ' '), unit);
        }

        return new ParameterWording("", key.Replace('_', ' '), "");
    }
}

/// <summary>How a model is called.</summary>
/// <param name="Kind">What happens: decay, rise, transient.</param>
/// <param name="Label">Name for people.</param>
/// <param name="Formula">The envelope in symbols; empty when not known.</param>
internal sealed record ModelWording(string Kind, string Label, string Formula);

/// <summary>How a parameter is called.</summary>
/// <param name="Symbol">Its symbol; empty for none.</param>
/// <param name="Label">Name for people.</param>
/// <param name="Unit">Unit symbol; empty for a pure number.</param>
internal sealed record ParameterWording(string Symbol, string Label, string Unit);
