namespace StreakTrack.Core.Uncertainty;

/// <summary>A measurement: its inputs, their correlations, and how the result follows from them. The common start of the uncertainty
/// budget
/// (<see cref="UncertaintyBudget"/>) and of its Monte Carlo check (<see cref="MonteCarloPropagation"/>).</summary>
public sealed class MeasurementModel
{
    /// <summary>Describes a measurement.</summary>
    /// <param name="quantity">Name of the result: "tau".</param>
    /// <param name="unit">Unit of the result; empty for a pure number.</param>
    /// <param name="inputs">The inputs, at least one.</param>
    /// <param name="function">The relation; smooth around the estimates.</param>
    /// <param name="correlations">Correlations of inputs; pairs not named are uncorrelated. Only normal inputs may be correlated.</param>
    /// <exception cref="ArgumentException">No inputs, or a correlation that names no pair, names one twice, or is outside -1 to
    /// 1.</exception>
    public MeasurementModel(
        string quantity, string unit, IReadOnlyList<UncertaintyInput> inputs, MeasurementFunction function,
        IReadOnlyList<InputCorrelation>? correlations = null)
    {
        if (inputs.Count == 0)
            throw new ArgumentException("A measurement needs at least one input.", nameof(inputs));

        Quantity = quantity;
        Unit = unit;
        Inputs = [.. inputs];
        Function = function;
        Correlations = correlations is null ? [] : [.. correlations];
        Correlation = CorrelationMatrix();
        Groups = CorrelatedGroups();
    }

    /// <summary>Name of the result.</summary>
    public string Quantity { get; }

    /// <summary>Unit of the result; empty for a pure number.</summary>
    public string Unit { get; }

    /// <summary>The inputs.</summary>
    public IReadOnlyList<UncertaintyInput> Inputs { get; }

    /// <summary>The relation between inputs and result.</summary>
    public MeasurementFunction Function { get; }

    /// <summary>Correlations of inputs; pairs not named are uncorrelated.</summary>
    public IReadOnlyList<InputCorrelation> Correlations { get; }

    /// <summary>Correlation matrix of the inputs.</summary>
    internal double[,] Correlation { get; }

    /// <summary>Inputs that hang together by correlations, each group as ascending indices; an uncorrelated input is a group of its
    /// own.</summary>
    internal IReadOnlyList<int[]> Groups { get; }

    private double[,] CorrelationMatrix()
    {
        int n = Inputs.Count;
        var matrix = new double[n, n];
        for (int i = 0; i < n; i++)
            matrix[i, i] = 1;
        foreach (InputCorrelation pair in Correlations)
        {
            if (pair.First < 0 || pair.Second < 0 || pair.First >= n || pair.Second >= n || pair.First == pair.Second)
                throw new ArgumentException($"The correlation of inputs {pair.First} and {pair.Second} names no pair of inputs.");
            if (!(Math.Abs(pair.Coefficient) <= 1))
                throw new ArgumentException($"The correlation coefficient {pair.Coefficient} is not between -1 and 1.");
            if (matrix[pair.First, pair.Second] != 0)
                throw new ArgumentException($"The correlation of inputs {pair.First} and {pair.Second} is given twice.");
            if (Inputs[pair.First].Distribution != InputDistribution.Normal || Inputs[pair.Second].Distribution != InputDistribution.Normal)
                throw new ArgumentException("Only inputs with a normal distribution can be correlated.");

            matrix[pair.First, pair.Second] = pair.Coefficient;
            matrix[pair.Second, pair.First] = pair.Coefficient;
        }

        return matrix;
    }

    private List<int[]> CorrelatedGroups()
    {
        int n = Inputs.Count;
        int[] group = [.. Enumerable.Range(0, n)];
        foreach (InputCorrelation pair in Correlations.Where(pair => pair.Coefficient != 0))
        {
            (int keep, int drop) = (group[pair.First], group[pair.Second]);
            for (int i = 0; i < n; i++)
            {
                if (group[i] == drop)
                    group[i] = keep;
            }
        }

        return [.. Enumerable.Range(0, n).GroupBy(i => group[i]).Select(members => members.ToArray())];
    }
}
