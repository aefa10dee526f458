using StreakTrack.Core.Oscillator;

namespace StreakTrack.Core.Uncertainty;

/// <summary>The measurements whose uncertainty budgets the program draws up.</summary>
public static class BudgetModels
{
    private const string OffsetBasis = "refits with all amplitudes shifted, evenly and bowed, by what the spot's shape and noise leave open";
    private const string SwitchBasis = "refit with the switch moved by its uncertainty";

    /// <summary>The decay time: <c>tau = (tau_fit + d_offset + d_robustness + d_switch + d_model)(1 + d_time)</c>, where the d are 0 but uncertain.</summary>
    /// <param name="inputs">The parts.</param>
    /// <exception cref="ArgumentOutOfRangeException">A part is outside its range.</exception>
    public static MeasurementModel Tau(TauBudgetInputs inputs)
    {
        List<UncertaintyInput> list = TauInputs(inputs, out int corrections, out int timeBase);
        return new MeasurementModel("tau", "s", list, values => TauOf(values, corrections, timeBase));
    }

    /// <summary>
    /// The quality factor: the tau of <see cref="Tau"/> and the frequency, by the exact relation for the frequency that is given; for the
    /// undamped one <c>Q = pi f0 tau</c>.
    /// </summary>
    /// <param name="inputs">The parts of tau.</param>
    /// <param name="frequencyHz">The frequency with its standard uncertainty, in Hz.</param>
    /// <param name="meaning">Which of the oscillator's frequencies it is. Default: the undamped one.</param>
    /// <param name="frequencyDegreesOfFreedom">Degrees of freedom of the frequency's uncertainty. Default infinite.</param>
    /// <exception cref="ArgumentOutOfRangeException">A part is outside its range.</exception>
    public static MeasurementModel QualityFactor(
        TauBudgetInputs inputs, UncertainValue frequencyHz, FrequencyMeaning meaning = FrequencyMeaning.Undamped,
        double frequencyDegreesOfFreedom = double.PositiveInfinity)
    {
        if (!(frequencyHz.Value > 0))
            throw new ArgumentOutOfRangeException(nameof(frequencyHz), frequencyHz.Value, "The frequency must be positive.");

        List<UncertaintyInput> list = TauInputs(inputs, out int corrections, out int timeBase);
        int frequency = list.Count;
        list.Add(new UncertaintyInput("frequency", "Hz", frequencyHz.Value, frequencyHz.StandardUncertainty)
        {
            DegreesOfFreedom = frequencyDegreesOfFreedom,
            Basis = "as stated with the frequency",
        });
        return new MeasurementModel("Q", "", list, values =>
        {
            double tau = TauOf(values, corrections, timeBase);
            double hz = values[frequency];
            return tau > 0 && hz > 0
                ? OscillatorQuantities.From(new UncertainValue(tau, 0), new UncertainValue(hz, 0), meaning).QualityFactor!.Value.Value
                : double.NaN;
        });
    }

    /// <summary>
    /// The amplitude at the mirror: <c>(A + d_offset + d_switch)(1 + d_scale) + d_ruler</c> on the ruler, carried to the mirror by the optical lever with
    /// its distance, and with its incidence and tilt where these are stated.
    /// </summary>
    /// <param name="inputs">The parts.</param>
    /// <exception cref="ArgumentOutOfRangeException">A part is outside its range.</exception>
    public static MeasurementModel MirrorAmplitude(MirrorAmplitudeBudgetInputs inputs)
    {
        OpticalLever lever = inputs.Lever;
        var list = new List<UncertaintyInput>
        {
            new("amplitude on the ruler", "mm", inputs.AmplitudeMm, inputs.AmplitudeUncertaintyMm)
            {
                DegreesOfFreedom = inputs.AmplitudeDegreesOfFreedom,
                Evaluation = EvaluationType.A,
                Basis = "scatter of the measured streak ends",
            },
            new("distance from mirror to ruler", "mm", lever.DistanceMm.Value, lever.DistanceMm.StandardUncertainty)
            {
                Basis = "as stated with the distance",
            },
        };
        int incidence = Append(list, OfGeometry("incidence along the axis", lever.IncidenceRad));
        int tilt = Append(list, OfGeometry("tilt of the ruler", lever.RulerTiltRad));
        int offset = Append(list, inputs.LengthOffsetUncertaintyMm is double shared
            ? new UncertaintyInput("offset common to all lengths", "mm", 0, shared) { Basis = OffsetBasis } : null);
        int switched = Append(list, inputs.SwitchTimeUncertaintyMm is double moved
            ? new UncertaintyInput("time of the switch", "mm", 0, moved) { Basis = SwitchBasis } : null);
        int scale = Append(list, inputs.ScaleRelativeUncertainty is double u
            ? new UncertaintyInput("pixel scale", "", 0, u)
            {
                DegreesOfFreedom = inputs.ScaleDegreesOfFreedom,
                Evaluation = EvaluationType.A,
                Basis = "scatter of the marks",
            }
            : null);

        // The class limits the error of the whole streak, which is twice the amplitude.
        int ruler = Append(list, inputs.RulerMaximumErrorMm is double limit
            ? UncertaintyInput.WithinLimits("ruler", "mm", 0, limit / 2) with { Basis = "largest error that the ruler's class allows" }
            : null);
        return new MeasurementModel("amplitude at the mirror", "mrad", list, values =>
        {
            double amplitude = ((values[0] + ValueOf(values, offset) + ValueOf(values, switched)) * (1 + ValueOf(values, scale))) + ValueOf(values, ruler);
            return values[1] > 0
                ? new OpticalLever(
                    new UncertainValue(values[1], 0), new UncertainValue(ValueOf(values, incidence), 0), new UncertainValue(ValueOf(values, tilt), 0))
                    .AmplitudeMradFromMm(amplitude)
                : double.NaN;
        });

        static double ValueOf(ReadOnlySpan<double> values, int index) => index >= 0 ? values[index] : 0;

        static UncertaintyInput? OfGeometry(string name, UncertainValue angleRad) => angleRad == default
            ? null : new UncertaintyInput(name, "rad", angleRad.Value, angleRad.StandardUncertainty) { Basis = "as stated with the geometry" };
    }

    /// <summary>Inputs of tau: first the fit's, then additive corrections up to <paramref name="corrections"/>, then the time
    /// base.</summary>
    private static List<UncertaintyInput> TauInputs(TauBudgetInputs inputs, out int corrections, out int timeBase)
    {
        if (!(inputs.TauSeconds > 0))
            throw new ArgumentOutOfRangeException(nameof(inputs), inputs.TauSeconds, "The decay time must be positive.");

        var list = new List<UncertaintyInput>
        {
            new("fit", "s", inputs.TauSeconds, inputs.FitUncertaintySeconds)
            {
                DegreesOfFreedom = inputs.FitDegreesOfFreedom,
                Evaluation = EvaluationType.A,
                Basis = "scatter of the points about the curve",
            },
        };
        Append(list, inputs.LengthOffsetUncertaintySeconds is double offset
            ? new UncertaintyInput("offset common to all lengths", "s", 0, offset)
            {
                Basis = OffsetBasis,
            }
            : null);
        Append(list, inputs.RobustnessHalfRangeSeconds is double robustness
            ? UncertaintyInput.WithinLimits("choice of window, threshold and weights", "s", 0, robustness) with
            {
                Basis = "half the range of the robustness table",
            }
            : null);
        Append(list, inputs.SwitchTimeUncertaintySeconds is double switchTime
            ? new UncertaintyInput("time of the switch", "s", 0, switchTime) { Basis = SwitchBasis }
            : null);
        Append(list, inputs.ModelUncertaintySeconds is double model
            ? new UncertaintyInput("choice of the model", "s", 0, model)
            {
                Basis = "reach of the models that the data do not exclude; none when the model is named",
            }
            : null);
        corrections = list.Count;
        timeBase = Append(list, inputs.TimeBaseRelativeLimit is double limit
            ? UncertaintyInput.WithinLimits("time base of the camera", "", 0, limit) with { Basis = "limit for the camera's clock" }
            : null);
        return list;
    }

    private static double TauOf(ReadOnlySpan<double> values, int corrections, int timeBase)
    {
        double tau = 0;
        for (int i = 0; i < corrections; i++)
            tau += values[i];
        return timeBase >= 0 ? tau * (1 + values[timeBase]) : tau;
    }

    private static int Append(List<UncertaintyInput> list, UncertaintyInput? input)
    {
        if (input is null)
            return -1;
        list.Add(input);
        return list.Count - 1;
    }
}
