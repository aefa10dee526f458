using StreakTrack.Core.Fitting;

namespace StreakTrack.Core.Studies;

/// <summary>The curve of one shape with its background, its starting values and its fit to a table of points.</summary>
internal sealed class ResonanceCurve
{
    private readonly ResponseModel _response;
    private readonly ResponseBackground _background;
    private readonly ResonancePoint[] _points;
    private readonly double _meanFrequency;

    /// <param name="response">The shape.</param>
    /// <param name="background">What lies under it.</param>
    /// <param name="points">The points, in the order of frequency.</param>
    public ResonanceCurve(ResponseModel response, ResponseBackground background, ResonancePoint[] points)
    {
        _response = response;
        _background = background;
        _points = points;
        _meanFrequency = points.Length > 0 ? points.Average(p => p.FrequencyHz) : 0;
    }

    public int ParameterCount => 3 + (int)_background;

    public ResonanceFit? Fit(bool stated, UncertaintyScaling scaling, CancellationToken cancellation)
    {
        double[]? sigma = stated ? [.. _points.Select(p => p.ResponseUncertainty)] : null;
        CurveFit? fit = CurveFit.From(Value, [.. _points.Select(p => p.FrequencyHz)], [.. _points.Select(p => p.Response)], sigma, Starts(),
            scaling, cancellation);
        if (fit is null)
            return null;

        (string Name, string Meaning)[] names =
        [
            _response == ResponseModel.Exact ? ("static_response", "response to a slow drive of the same force")
                : ("peak_response", "height of the peak above the background"),
            ("f0_hz", "resonance frequency"),
            _response == ResponseModel.Exact ? ("q", "quality factor") : ("half_width_hz", "half the width of the power curve at half maximum"),
            ("background", "background at the mean drive frequency"),
            ("background_slope_per_hz", "slope of the background"),
        ];
        bool exact = _response == ResponseModel.Exact;
        return new ResonanceFit(fit)
        {
            Response = _response,
            Background = _background,
            Parameters =
            [
                .. Enumerable.Range(0, ParameterCount).Select(i => fit.Parameter(i, names[i].Name, names[i].Meaning, cancellation)),
            ],
            Points = _points.Length,
            F0Hz = fit.Derived(p => p[1]),
            QualityFactor = fit.Derived(p => exact ? p[2] : p[1] / (2 * p[2])),
            TauSeconds = fit.Derived(p => exact ? p[2] / (Math.PI * p[1]) : 1 / (2 * Math.PI * p[2])),
            LinewidthPowerHz = fit.Derived(p => exact ? p[1] / p[2] : 2 * p[2]),
            PeakFrequencyHz = fit.Derived(p => exact ? p[1] * Math.Sqrt(1 - (0.5 / (p[2] * p[2]))) : p[1]),
            PeakResponse = fit.Derived(p => exact && p[2] <= Math.Sqrt(0.5) ? double.NaN
                : exact ? p[0] * p[2] / Math.Sqrt(1 - (0.25 / (p[2] * p[2]))) : p[0]),
        };
    }

    /// <summary>Value and gradient; parameters are height, f0, Q or half width, then the background.</summary>
    private double Value(double f, ReadOnlySpan<double> p, Span<double> gradient)
    {
        // Only positive frequencies, widths and Q mean something; each shape is even in its width, so nothing is lost.
        if (!(p[1] > 0 && p[2] > 0))
            return double.NaN;
        double value;
        if (_response == ResponseModel.Exact)
        {
            double r = f / p[1];
            double detuned = (1 - r) * (1 + r);
            double damped = r / p[2];
            double square = (detuned * detuned) + (damped * damped);
            double shape = 1 / Math.Sqrt(square);
            value = p[0] * shape;
            if (!gradient.IsEmpty)
            {
                double bySquare = -0.5 * value / square;
                gradient[0] = shape;
                gradient[1] = bySquare * ((-4 * r * detuned) + (2 * damped / p[2])) * (-r / p[1]);
                gradient[2] = bySquare * (-2 * damped * damped / p[2]);
            }
        }
        else
        {
            double x = (f - p[1]) / p[2];
            double square = 1 + (x * x);
            bool power = _response == ResponseModel.PowerLorentzian;
            double shape = power ? 1 / square : 1 / Math.Sqrt(square);
            value = p[0] * shape;
            if (!gradient.IsEmpty)
            {
                double bySquare = (power ? -1 : -0.5) * value / square;
                gradient[0] = shape;
                gradient[1] = bySquare * -2 * x / p[2];
                gradient[2] = bySquare * -2 * x * x / p[2];
            }
        }

        if (_background >= ResponseBackground.Constant)
            value += p[3];
        if (_background == ResponseBackground.Linear)
            value += p[4] * (f - _meanFrequency);
        if (!gradient.IsEmpty && _background >= ResponseBackground.Constant)
            gradient[3] = 1;
        if (!gradient.IsEmpty && _background == ResponseBackground.Linear)
            gradient[4] = f - _meanFrequency;
        return value;
    }

    private IEnumerable<double[]> Starts()
    {
        double background = _background == ResponseBackground.None ? 0 : Background();
        ResonancePoint top = _points.MaxBy(p => Math.Abs(p.Response - background));
        double height = top.Response - background;
        (double Centre, double HalfWidth)? parabola = Parabola(background, height);
        double crossing = HalfHeightDistance(top, background, height);
        double centre = parabola?.Centre ?? top.FrequencyHz;
        foreach (double halfWidth in new[] { parabola?.HalfWidth ?? crossing, crossing, crossing / 3, crossing * 3 })
        {
            double[] start = new double[ParameterCount];
            start[0] = _response == ResponseModel.Exact ? height * 2 * halfWidth / centre : height;
            start[1] = centre;
            start[2] = _response == ResponseModel.Exact ? centre / (2 * halfWidth) : halfWidth;
            if (_background >= ResponseBackground.Constant)
                start[3] = background;
            yield return start;
        }
    }

    /// <summary>Median of the outer quarter of the points on both sides.</summary>
    private double Background()
    {
        int outer = Math.Max(1, _points.Length / 8);
        double[] values = [.. _points.Take(outer).Concat(_points.TakeLast(outer)).Select(p => p.Response).Order()];
        return values[values.Length / 2];
    }

    /// <summary>
    /// Centre and half width from the parabola that 1/A² (or 1/P) is in the Lorentzian limit, weighted towards the peak; null when it
    /// has none.
    /// </summary>
    private (double Centre, double HalfWidth)? Parabola(double background, double height)
    {
        int order = _response == ResponseModel.PowerLorentzian ? 1 : 2;
        // Far down the flanks noise and background rule; there the inverse says nothing.
        var used = _points.Where(p => (p.Response - background) / height > 0.2).ToArray();
        double spread = _points[^1].FrequencyHz - _points[0].FrequencyHz;
        double peak = _points.MaxBy(p => Math.Abs(p.Response - background)).FrequencyHz;
        double[] x = [.. used.Select(p => (p.FrequencyHz - peak) / spread)];
        if (x.Distinct().Count() < 4)
            return null;

        double[] relative = [.. used.Select(p => (p.Response - background) / height)];
        // Rows weighted by A^(order + 1): the uncertainty of the inverse power grows as A^-(order + 1).
        double[] rows = new double[3 * x.Length];
        double[] target = new double[x.Length];
        for (int i = 0; i < x.Length; i++)
        {
            double w = Math.Pow(relative[i], order + 1);
            (rows[i], rows[x.Length + i], rows[(2 * x.Length) + i]) = (w, w * x[i], w * x[i] * x[i]);
            target[i] = w * Math.Pow(relative[i], -order);
        }

        double[] c = new HouseholderQr(rows, target, 3).Solve();
        double centre = -c[1] / (2 * c[2]);
        double bottom = c[0] - (c[1] * c[1] / (4 * c[2]));
        return c[2] > 0 && bottom > 0 && double.IsFinite(centre)
            ? (peak + (spread * centre), spread * Math.Sqrt(bottom / c[2])) : null;
    }

    /// <summary>Distance from the peak at which the response has fallen to half power, by straight interpolation.</summary>
    private double HalfHeightDistance(ResonancePoint top, double background, double height)
    {
        double level = _response == ResponseModel.PowerLorentzian ? 0.5 : Math.Sqrt(0.5);
        double best = double.PositiveInfinity;
        int peak = Array.IndexOf(_points, top);
        foreach (int side in new[] { -1, 1 })
        {
            for (int i = peak + side; i >= 0 && i < _points.Length; i += side)
            {
                double outer = (_points[i].Response - background) / height;
                if (outer > level)
                    continue;
                double inner = (_points[i - side].Response - background) / height;
                double at = _points[i - side].FrequencyHz
                    + ((_points[i].FrequencyHz - _points[i - side].FrequencyHz) * (inner - level) / (inner - outer));
                best = Math.Min(best, Math.Abs(at - top.FrequencyHz));
                break;
            }
        }

        double span = _points[^1].FrequencyHz - _points[0].FrequencyHz;
        return best > 0 && double.IsFinite(best) ? best : span / 4;
    }
}
