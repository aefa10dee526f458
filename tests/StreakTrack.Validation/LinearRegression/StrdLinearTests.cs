namespace StreakTrack.Validation.LinearRegression;

/// <summary>NIST StRD linear regression: straight lines by the line fitter, polynomials by the least squares that every fit goes through
/// (fixtures/nist-strd/linear, certified values in the files).</summary>
public class StrdLinearTests
{
    public static TheoryData<string, double> Sets()
    {
        var data = new TheoryData<string, double>();
        foreach ((string name, double digits) in StrdLinearSet.All)
            data.Add(name, digits);
        return data;
    }

    [Theory]
    [MemberData(nameof(Sets))]
    public void Certified_coefficients_are_reproduced(string name, double leastDigits)
    {
        (double coefficients, double deviations, double residual) = StrdLinearSet.Read(name).Score();

        // Where the points lie on the curve exactly, the deviations are those of rounding.
        bool exact = name is "Wampler1" or "Wampler2";
        Assert.True(coefficients >= leastDigits, $"{coefficients:F1} digits");
        Assert.True(exact || deviations >= leastDigits, $"{deviations:F1} digits of the deviations");
        Assert.True(exact || residual >= leastDigits, $"{residual:F1} digits of the residual deviation");
    }
}
