using System.Globalization;
using StreakTrack.Core.Fitting;
using StreakTrack.Tests.Shared;
using StreakTrack.Validation.LinearRegression;

namespace StreakTrack.Validation.Univariate;

/// <summary>One NIST StRD univariate set; what touches the program is the correlation of neighbours.</summary>
internal sealed record StrdUnivariateSet(string Name, double[] Values, double CertifiedCorrelation)
{
    /// <summary>The sets, and how many digits of the correlation must be reached at least.</summary>
    /// <remarks>1 less than a two-pass computation reaches with numpy (fixtures/nist-strd/numpy-strd.csv): large means cost digits.</remarks>
    public static IReadOnlyList<(string Name, double LeastDigits)> All { get; } =
    [
        ("Lew", 13.9), ("Lottery", 14), ("Mavro", 13), ("Michelso", 12.4), ("NumAcc1", 14), ("NumAcc2", 13.3), ("NumAcc3", 10.9), ("NumAcc4", 9.7),
    ];

    public static StrdUnivariateSet Read(string name)
    {
        string[] lines = File.ReadAllLines(Fixtures.PathOf("nist-strd", "univariate", name + ".dat"));
        int rule = Array.FindIndex(lines, line => line.StartsWith("----", StringComparison.Ordinal));
        string certified = lines.First(line => line.Contains("Sample Autocorrelation", StringComparison.Ordinal));
        return new StrdUnivariateSet(name, [.. lines.Skip(rule + 1).Where(line => line.Trim().Length > 0).Select(Parse)],
            Parse(certified[(certified.LastIndexOf(':') + 1)..].Replace("(exact)", "", StringComparison.Ordinal)));

        static double Parse(string text) => double.Parse(text, CultureInfo.InvariantCulture);
    }

    /// <summary>Correct digits of the correlation.</summary>
    public double Score() =>
        StrdLinearSet.Digits(ResidualAnalysis.Of(Values).Lag1Correlation, CertifiedCorrelation);
}
