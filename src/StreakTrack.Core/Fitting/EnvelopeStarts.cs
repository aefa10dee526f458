namespace StreakTrack.Core.Fitting;

/// <summary>Starting values of every model, found from the data.</summary>
internal static class EnvelopeStarts
{
    private const int TransientStarts = 4;

    /// <summary>Full parameter vectors (the model's parameters, then t0) to start from.</summary>
    /// <param name="model">The model.</param>
    /// <param name="points">The points.</param>
    /// <param name="scan">The scan of the same points.</param>
    /// <param name="before">Number of points before the switch.</param>
    /// <param name="switchTime">Known or reference time of the switch, in s; NaN when it is free.</param>
    /// <param name="cancellationToken">Ends the work.</param>
    public static IReadOnlyList<double[]> Of(
        EnvelopeModel model, FitPoints points, ExponentialScan scan, int before, double switchTime, CancellationToken cancellationToken)
    {
        double first = points.Times[before];
        double t0 = double.IsNaN(switchTime) ? (before > 0 ? (points.Times[before - 1] + first) / 2 : first) : switchTime;
        (double tau, double size, double constant) = scan.Tail(before, withConstant: true);
        double back = Math.Exp((first - t0) / tau);
        switch (model)
        {
            case DecayFloorModel:
                return [[tau, size * back, constant, t0], WithoutFloor(0)];
            case DecayLevelModel:
                return [[tau, constant + size * back, constant, t0]];
            case RiseModel:
            case DetunedRiseModel:
                double onset = double.IsNaN(switchTime) && before == 0 && constant > 0 && size < 0
                    ? first + tau * Math.Log(-size / constant) : t0;
                double other = double.IsNaN(switchTime) ? onset : t0, highest = points.Amplitudes.Max();
                return model is RiseModel ? [[tau, constant, onset], [tau, highest, other]] : [[tau, 0, constant, onset], [tau, 0, highest, other]];
            case DragModel:
                double[] plain = WithoutFloor(0);
                return [plain, [2 * plain[0], plain[1] * 1.1, 0.5 / (plain[0] * Math.Max(plain[1], 1e-9)), t0]];
            case DryFrictionModel:
                double[] start = WithoutFloor(0.05 * Math.Abs(size) / tau);
                return constant < 0 ? [[tau, size * back + constant, -constant / tau, t0], start] : [start];
            case TransientModel:
                return [.. TransientSeeds.Find(points, before, TransientStarts, cancellationToken).Select(OfTransient)];
            default:
                return [WithoutFloor(null)];
        }

        double[] WithoutFloor(double? third)
        {
            (double simpleTau, double simpleSize, _) = scan.Tail(before, withConstant: false);
            double amplitude = simpleSize * Math.Exp((first - t0) / simpleTau);
            return third is double value ? [simpleTau, amplitude, value, t0] : [simpleTau, amplitude, t0];
        }

        double[] OfTransient(TransientSeeds.Seed seed)
        {
            if (model.Parameters.Count > 3)
                return [seed.Tau, seed.Detuning, seed.Level, seed.InPhase, seed.Quadrature, t0];

            // From rest |z0 - z1| equals z1 at t0, which dates the start.
            double distance = Math.Max(double.Hypot(seed.InPhase - seed.Level, seed.Quadrature), 1e-9);
            double onset = before > 0 || !double.IsNaN(switchTime) ? t0
                : first + Math.Clamp(seed.Tau * Math.Log(distance / seed.Level), -2 * seed.Tau, 0);
            return [seed.Tau, seed.Detuning, seed.Level, onset];
        }
    }
}
