using System.Globalization;
using System.Text.RegularExpressions;
using StreakTrack.Core.Fitting;
using StreakTrack.Tests.Shared;

namespace StreakTrack.Validation.NonlinearRegression;

/// <summary>One NIST StRD nonlinear set: data, both starts and certified values, read from its own file.</summary>
internal sealed partial class StrdSet
{
    private readonly StrdModels.Model _model;
    private readonly double[][] _predictors;
    private readonly double[] _responses;

    private StrdSet(string name, string level, double[][] table, double[][] rows, double residualSum, double residualDeviation)
    {
        Name = name;
        Level = level;
        Starts = [[.. table.Select(row => row[0])], [.. table.Select(row => row[1])]];
        Certified = [.. table.Select(row => row[2])];
        CertifiedDeviations = [.. table.Select(row => row[3])];
        CertifiedResidualSum = residualSum;
        CertifiedResidualDeviation = residualDeviation;
        _model = StrdModels.Of(name);

        // Nelson's model is for the logarithm of the response.
        _responses = [.. rows.Select(row => name == "Nelson" ? Math.Log(row[0]) : row[0])];
        _predictors = [.. rows.Select(row => row[1..])];
    }

    /// <summary>All 27 sets, by name.</summary>
    public static IReadOnlyList<string> Names { get; } =
    [
        "Bennett5", "BoxBOD", "Chwirut1", "Chwirut2", "DanWood", "Eckerle4", "ENSO", "Gauss1", "Gauss2", "Gauss3", "Hahn1", "Kirby2",
        "Lanczos1", "Lanczos2", "Lanczos3", "MGH09", "MGH10", "MGH17", "Misra1a", "Misra1b", "Misra1c", "Misra1d", "Nelson", "Rat42",
        "Rat43", "Roszman1", "Thurber",
    ];

    public string Name { get; }

    public string Level { get; }

    /// <summary>The two official starting points.</summary>
    public IReadOnlyList<double[]> Starts { get; }

    public double[] Certified { get; }

    public double[] CertifiedDeviations { get; }

    public double CertifiedResidualSum { get; }

    public double CertifiedResidualDeviation { get; }

    public int Observations => _responses.Length;

    public static StrdSet Read(string name)
    {
        string[] lines = File.ReadAllLines(Fixtures.PathOf("nist-strd", "nonlinear", name + ".dat"));
        double[][] table = [.. lines.Take(60).Select(line => ParameterLine().Match(line)).Where(match => match.Success)
            .Select(match => Enumerable.Range(1, 4).Select(group => Parse(match.Groups[group].Value)).ToArray())];
        int dataStart = Array.FindIndex(lines, line => DataHeader().IsMatch(line)) + 1;
        double[][] rows = [.. lines.Skip(dataStart)
            .Select(line => line.Split([' ', '\t'], StringSplitOptions.RemoveEmptyEntries).Select(Parse).ToArray())
            .Where(row => row.Length > 0)];
        string level = lines.Take(60).Select(line => LevelLine().Match(line)).First(match => match.Success).Groups[1].Value;
        return new StrdSet(name, level, table, rows, Header("Residual Sum of Squares:"), Header("Residual Standard Deviation:"));

        double Header(string label) => Parse(lines.First(line => line.StartsWith(label, StringComparison.Ordinal))[label.Length..].Trim());
    }

    /// <summary>Model minus data, with exact derivatives.</summary>
    public bool Residuals(ReadOnlySpan<double> parameters, Span<double> residuals, Span<double> jacobian)
    {
        Span<Dual> b = stackalloc Dual[parameters.Length];
        int n = _responses.Length;
        for (int j = 0; j < (jacobian.IsEmpty ? 1 : parameters.Length); j++)
        {
            for (int k = 0; k < b.Length; k++)
                b[k] = new Dual(parameters[k], k == j ? 1 : 0);
            for (int i = 0; i < n; i++)
            {
                Dual value = _model(b, _predictors[i]);
                residuals[i] = value.Value - _responses[i];
                if (!jacobian.IsEmpty)
                    jacobian[j * n + i] = value.Derivative;
            }
        }

        return true;
    }

    public LeastSquaresResult Solve(int start) => NonlinearLeastSquares.Minimize(Residuals, Observations, Starts[start]);

    private static double Parse(string text) => double.Parse(text, CultureInfo.InvariantCulture);

    [GeneratedRegex(@"^\s*b\d+\s*=\s*(\S+)\s+(\S+)\s+(\S+)\s+(\S+)\s*$")]
    private static partial Regex ParameterLine();

    [GeneratedRegex(@"^Data:\s+y\s+x")]
    private static partial Regex DataHeader();

    [GeneratedRegex(@"(Lower|Average|Higher) Level of Difficulty")]
    private static partial Regex LevelLine();
}
