namespace StreakTrack.Validation.NonlinearRegression;

/// <summary>
/// A number and its derivative along one direction: exact derivatives of the test models without writing them down twice.
/// </summary>
internal readonly record struct Dual(double Value, double Derivative)
{
    public static implicit operator Dual(double constant) => new(constant, 0);

    public static Dual operator +(Dual a, Dual b) => new(a.Value + b.Value, a.Derivative + b.Derivative);

    public static Dual operator -(Dual a, Dual b) => new(a.Value - b.Value, a.Derivative - b.Derivative);

    public static Dual operator -(Dual a) => new(-a.Value, -a.Derivative);

    public static Dual operator *(Dual a, Dual b) => new(a.Value * b.Value, a.Derivative * b.Value + a.Value * b.Derivative);

    public static Dual operator /(Dual a, Dual b)
    {
        double quotient = a.Value / b.Value;
        return new(quotient, (a.Derivative - quotient * b.Derivative) / b.Value);
    }

    public static Dual Exp(Dual a)
    {
        double e = Math.Exp(a.Value);
        return new(e, e * a.Derivative);
    }

    public static Dual Cos(Dual a) => new(Math.Cos(a.Value), -Math.Sin(a.Value) * a.Derivative);

    public static Dual Sin(Dual a) => new(Math.Sin(a.Value), Math.Cos(a.Value) * a.Derivative);

    public static Dual Atan(Dual a) => new(Math.Atan(a.Value), a.Derivative / (1 + a.Value * a.Value));

    public static Dual Sqrt(Dual a)
    {
        double root = Math.Sqrt(a.Value);
        return new(root, a.Derivative / (2 * root));
    }

    public static Dual Pow(Dual a, Dual b)
    {
        double power = Math.Pow(a.Value, b.Value);
        double logarithm = b.Derivative == 0 ? 0 : Math.Log(a.Value) * b.Derivative;
        return new(power, power * (logarithm + b.Value * a.Derivative / a.Value));
    }
}
