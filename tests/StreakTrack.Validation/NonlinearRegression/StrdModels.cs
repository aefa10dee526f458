using static StreakTrack.Validation.NonlinearRegression.Dual;

namespace StreakTrack.Validation.NonlinearRegression;

/// <summary>The model functions of the 27 NIST StRD nonlinear sets, written from the "Model:" lines of their files.</summary>
internal static class StrdModels
{
    public delegate Dual Model(ReadOnlySpan<Dual> b, ReadOnlySpan<double> x);

    public static Model Of(string set) => set switch
    {
        "Bennett5" => static (b, x) => b[0] * Pow(b[1] + x[0], -1 / b[2]),
        "BoxBOD" or "Misra1a" => static (b, x) => b[0] * (1 - Exp(-b[1] * x[0])),
        "Chwirut1" or "Chwirut2" => static (b, x) => Exp(-b[0] * x[0]) / (b[1] + b[2] * x[0]),
        "DanWood" => static (b, x) => b[0] * Pow(x[0], b[1]),
        "ENSO" => Enso,
        "Eckerle4" => static (b, x) => b[0] / b[1] * Exp(-0.5 * Square((x[0] - b[2]) / b[1])),
        "Gauss1" or "Gauss2" or "Gauss3" => static (b, x) => b[0] * Exp(-b[1] * x[0])
            + b[2] * Exp(-Square((x[0] - b[3]) / b[4])) + b[5] * Exp(-Square((x[0] - b[6]) / b[7])),
        "Hahn1" or "Thurber" => static (b, x) =>
            (b[0] + x[0] * (b[1] + x[0] * (b[2] + x[0] * b[3]))) / (1 + x[0] * (b[4] + x[0] * (b[5] + x[0] * b[6]))),
        "Kirby2" => static (b, x) => (b[0] + x[0] * (b[1] + x[0] * b[2])) / (1 + x[0] * (b[3] + x[0] * b[4])),
        "Lanczos1" or "Lanczos2" or "Lanczos3" => static (b, x) =>
            b[0] * Exp(-b[1] * x[0]) + b[2] * Exp(-b[3] * x[0]) + b[4] * Exp(-b[5] * x[0]),
        "MGH09" => static (b, x) => b[0] * (x[0] * x[0] + x[0] * b[1]) / (x[0] * x[0] + x[0] * b[2] + b[3]),
        "MGH10" => static (b, x) => b[0] * Exp(b[1] / (x[0] + b[2])),
        "MGH17" => static (b, x) => b[0] + b[1] * Exp(-x[0] * b[3]) + b[2] * Exp(-x[0] * b[4]),
        "Misra1b" => static (b, x) => b[0] * (1 - 1 / Square(1 + b[1] * x[0] / 2)),
        "Misra1c" => static (b, x) => b[0] * (1 - 1 / Sqrt(1 + 2 * b[1] * x[0])),
        "Misra1d" => static (b, x) => b[0] * b[1] * x[0] / (1 + b[1] * x[0]),
        "Nelson" => static (b, x) => b[0] - b[1] * x[0] * Exp(-b[2] * x[1]),
        "Rat42" => static (b, x) => b[0] / (1 + Exp(b[1] - b[2] * x[0])),
        "Rat43" => static (b, x) => b[0] / Pow(1 + Exp(b[1] - b[2] * x[0]), 1 / b[3]),
        "Roszman1" => static (b, x) => b[0] - b[1] * x[0] - Atan(b[2] / (x[0] - b[3])) / Math.PI,
        _ => throw new ArgumentOutOfRangeException(nameof(set), set, "No such set."),
    };

    private static Dual Square(Dual a) => a * a;

    private static Dual Enso(ReadOnlySpan<Dual> b, ReadOnlySpan<double> x)
    {
        double w = 2 * Math.PI * x[0];
        return b[0] + b[1] * Math.Cos(w / 12) + b[2] * Math.Sin(w / 12) + b[4] * Cos(w / b[3]) + b[5] * Sin(w / b[3])
            + b[7] * Cos(w / b[6]) + b[8] * Sin(w / b[6]);
    }
}
