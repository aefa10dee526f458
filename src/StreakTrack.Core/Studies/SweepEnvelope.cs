using System.Numerics;

namespace StreakTrack.Core.Studies;

/// <summary>The envelope of an oscillator whose drive is stepped in frequency, with its derivatives.</summary>
/// <remarks>
/// In the frame that turns with drive k the motion is z = S_k + (z_k - S_k) exp((-1/tau - i 2 pi (f_k - f_d)) (t - t_k)), S_k the steady
/// response and f_d the frequency of the free (damped) oscillation. The motion itself does not jump: z_(k+1) is where z ended, turned back
/// by the jump of the drive's phase if there is one. The amplitude is |z| (rotating-wave approximation: terms of the order of
/// 1/(4 Q) of a step's change, at twice the frequency, are left out).
/// Parameters: f_d less the mean drive frequency, tau, in-phase and quadrature part of the motion at the first point beyond the steady one, the level or levels, the
/// lateness of all steps but the first, and the phase jumps at these where they are free.
/// </remarks>
internal sealed class SweepEnvelope
{
    private const double TwoPi = 2 * Math.PI;

    private readonly double[] _frequencies;
    private readonly double[] _starts;
    private readonly double _firstTime;

    /// <param name="steps">The steps.</param>
    /// <param name="firstTimeSeconds">Time of the first point.</param>
    /// <param name="response">Shape of the steady response, <see cref="ResponseModel.Exact"/> or <see cref="ResponseModel.Lorentzian"/>.</param>
    /// <param name="freeLevels">Whether each step has a steady amplitude of its own; else one level at f_d goes with the shape.</param>
    /// <param name="phaseJumps">Whether the drive's phase may jump at each step.</param>
    public SweepEnvelope(IReadOnlyList<DriveStep> steps, double firstTimeSeconds, ResponseModel response, bool freeLevels, bool phaseJumps)
    {
        _frequencies = [.. steps.Select(step => step.FrequencyHz)];
        _starts = [.. steps.Select(step => step.StartSeconds)];
        MeanDriveHz = _frequencies.Average();
        _firstTime = firstTimeSeconds;
        Response = response;
        FreeLevels = freeLevels;
        PhaseJumps = phaseJumps;
        Levels = 4;
        LevelCount = freeLevels ? steps.Count : 1;
        Times = Levels + LevelCount;
        Jumps = Times + steps.Count - 1;
        ParameterCount = phaseJumps ? Jumps + steps.Count - 1 : Jumps;
    }

    /// <summary>Index of the frequency of the free oscillation, in Hz above <see cref="MeanDriveHz"/>.</summary>
    public const int FreeFrequency = 0;

    /// <summary>Index of the decay time, in s.</summary>
    public const int Tau = 1;

    /// <summary>Index of the first part of the motion beyond the steady one at the first point, in mm.</summary>
    public const int Start = 2;

    /// <summary>Mean drive frequency, in Hz.</summary>
    public double MeanDriveHz { get; }

    public ResponseModel Response { get; }

    public bool FreeLevels { get; }

    public bool PhaseJumps { get; }

    /// <summary>Index of the first level.</summary>
    public int Levels { get; }

    public int LevelCount { get; }

    /// <summary>Index of the time of the second step, in s after the nominal one.</summary>
    public int Times { get; }

    /// <summary>Index of the phase jump at the second step, in rad.</summary>
    public int Jumps { get; }

    public int ParameterCount { get; }

    /// <summary>The amplitudes at points in the order of time.</summary>
    /// <param name="p">The parameters.</param>
    /// <param name="times">Times, in s, the first at or after the first step.</param>
    /// <param name="firsts">
    /// Position of the first point of each step. It is given and not taken from the steps' times, so that the sum of squares stays smooth in these: a
    /// point a little before the step continues the motion after it backwards.
    /// </param>
    /// <param name="values">Receives the amplitudes.</param>
    /// <param name="jacobian">Receives the derivatives, column after column with <paramref name="rows"/> in each; empty for none.</param>
    /// <param name="rows">Length of a column.</param>
    /// <param name="transients">Receives for each step what is left of the transient at its end, in mm; empty for none.</param>
    /// <returns>False where the parameters mean nothing.</returns>
    public bool Evaluate(
        ReadOnlySpan<double> p, ReadOnlySpan<double> times, ReadOnlySpan<int> firsts, Span<double> values, Span<double> jacobian, int rows, Span<double> transients)
    {
        double fd = MeanDriveHz + p[FreeFrequency], tau = p[Tau];
        if (!(fd > 0 && tau > 0))
            return false;
        int steps = _frequencies.Length, count = ParameterCount;
        for (int k = 1; k < steps; k++)
        {
            if (!(StartOf(p, k) > StartOf(p, k - 1)))
                return false;
        }

        bool wanted = !jacobian.IsEmpty;
        Span<Complex> begin = wanted ? stackalloc Complex[count] : [];   // derivatives of z at the step's start
        Span<Complex> steadyBy = stackalloc Complex[3];                    // of the steady response: by f_d, tau and its level
        Complex steady = Steady(p, 0, steadyBy);
        Complex z0 = steady + new Complex(p[Start], p[Start + 1]);
        if (wanted)
        {
            begin.Clear();
            AddSteady(begin, steadyBy, 0, 1);
            begin[Start] += 1;
            begin[Start + 1] += Complex.ImaginaryOne;
        }

        int i = 0;
        for (int k = 0; k < steps; k++)
        {
            double start = StartOf(p, k), end = k + 1 < steps ? StartOf(p, k + 1) : double.PositiveInfinity;
            var rate = new Complex(-1 / tau, -TwoPi * (_frequencies[k] - fd));
            int next = k + 1 < steps ? firsts[k + 1] : times.Length;
            for (; i < next; i++)
            {
                Complex e = Complex.Exp(rate * (times[i] - start));
                Complex z = steady + (z0 - steady) * e;
                double size = z.Magnitude;
                values[i] = size;
                if (!wanted)
                    continue;
                Complex direction = size > 0 ? Complex.Conjugate(z) / size : Complex.One;
                for (int j = 0; j < count; j++)
                    jacobian[(j * rows) + i] = (direction * begin[j] * e).Real;
                Complex moving = direction * (z0 - steady) * e;
                double since = times[i] - start;
                jacobian[i] += (direction * (1 - e) * steadyBy[0]).Real + (moving * since * new Complex(0, TwoPi)).Real;
                jacobian[rows + i] += (direction * (1 - e) * steadyBy[1]).Real + (moving * since).Real / (tau * tau);
                jacobian[(LevelOf(k) * rows) + i] += (direction * (1 - e) * steadyBy[2]).Real;
                if (k > 0)
                    jacobian[((Times + k - 1) * rows) + i] -= (moving * rate).Real;
            }

            double held = (k + 1 < steps ? end : times[^1]) - start;
            Complex last = Complex.Exp(rate * held);
            if (!transients.IsEmpty)
                transients[k] = ((z0 - steady) * last).Magnitude;
            if (k + 1 == steps)
                break;

            Complex gone = (z0 - steady) * last;
            Complex turn = PhaseJumps ? Complex.FromPolarCoordinates(1, -p[Jumps + k]) : Complex.One;
            Complex then = (steady + gone) * turn;
            if (wanted)
            {
                for (int j = 0; j < count; j++)
                    begin[j] *= last;
                AddSteady(begin, steadyBy, k, 1 - last);
                begin[FreeFrequency] += gone * held * new Complex(0, TwoPi);
                begin[Tau] += gone * held / (tau * tau);
                begin[Times + k] += gone * rate;
                if (k > 0)
                    begin[Times + k - 1] -= gone * rate;
                for (int j = 0; j < count; j++)
                    begin[j] *= turn;
                if (PhaseJumps)
                    begin[Jumps + k] -= then * Complex.ImaginaryOne;
            }

            z0 = then;
            steady = Steady(p, k + 1, steadyBy);
        }

        return true;
    }

    /// <summary>The first point of each step by the steps' times.</summary>
    /// <param name="p">The parameters.</param>
    /// <param name="times">Times of the points, in s, rising.</param>
    public int[] Divide(ReadOnlySpan<double> p, double[] times)
    {
        int[] firsts = new int[_frequencies.Length];
        for (int k = 1; k < firsts.Length; k++)
        {
            int found = Array.BinarySearch(times, StartOf(p, k));
            firsts[k] = found >= 0 ? found : ~found;
        }

        return firsts;
    }

    /// <summary>The steady amplitude of a step.</summary>
    public double SteadyAmplitude(ReadOnlySpan<double> p, int step)
    {
        Span<Complex> unused = stackalloc Complex[3];
        return Steady(p, step, unused).Magnitude;
    }

    private int LevelOf(int step) => FreeLevels ? Levels + step : Levels;

    /// <summary>When a step begins, in s; the first one with the first point.</summary>
    public double StartOf(ReadOnlySpan<double> p, int step) => step == 0 ? _firstTime : _starts[step] + p[Times + step - 1];

    private void AddSteady(Span<Complex> derivatives, ReadOnlySpan<Complex> steadyBy, int step, Complex share)
    {
        derivatives[FreeFrequency] += steadyBy[0] * share;
        derivatives[Tau] += steadyBy[1] * share;
        derivatives[LevelOf(step)] += steadyBy[2] * share;
    }

    /// <summary>The steady response in the frame of the drive, and its derivatives by f_d, tau and its level.</summary>
    private Complex Steady(ReadOnlySpan<double> p, int step, Span<Complex> by)
    {
        double fd = MeanDriveHz + p[FreeFrequency], tau = p[Tau], level = p[LevelOf(step)];
        Complex shape, byFrequency, byTau;   // the derivatives of its logarithm
        if (Response == ResponseModel.Lorentzian)
        {
            double detuning = TwoPi * (_frequencies[step] - fd);
            shape = 1 / new Complex(1, tau * detuning);
            byFrequency = shape * new Complex(0, TwoPi * tau);
            byTau = -shape * new Complex(0, detuning);
        }
        else
        {
            // w_0^2 - w^2 + 2 i w/tau with w_0^2 = w_d^2 + 1/tau^2, divided by the same at w = w_d.
            double gamma = 1 / tau, free = TwoPi * fd, drive = TwoPi * _frequencies[step];
            var peak = new Complex(gamma * gamma, 2 * gamma * free);
            var here = new Complex((free - drive) * (free + drive) + (gamma * gamma), 2 * gamma * drive);
            shape = peak / here;
            byFrequency = TwoPi * ((new Complex(0, 2 * gamma) / peak) - (2 * free / here));
            byTau = -gamma * gamma * ((new Complex(2 * gamma, 2 * free) / peak) - (new Complex(2 * gamma, 2 * drive) / here));
        }

        if (FreeLevels)
        {
            // Only the direction comes from the shape.
            shape /= shape.Magnitude;
            byFrequency = new Complex(0, byFrequency.Imaginary);
            byTau = new Complex(0, byTau.Imaginary);
        }

        Complex steady = level * shape;
        by[0] = steady * byFrequency;
        by[1] = steady * byTau;
        by[2] = shape;
        return steady;
    }
}
