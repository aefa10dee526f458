using StreakTrack.Core.Studies;

namespace StreakTrack.Core.Tests.Studies;

public class StudyRobustnessTests
{
    /// <summary>Numbers that break careless code.</summary>
    private static readonly double[] Awkward =
        [0, -0.0, 1, -1, 1e-300, 1e300, double.Epsilon, double.MaxValue, double.NaN, double.PositiveInfinity, 40, 40, 41, 39.5];

    // Random tables, half of them reasonable and half with awkward numbers: a study ends with a result or with a refusal that a user can
    // read, never otherwise, and a result is never without a number for its main quantity.
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    public void Any_table_ends_in_a_result_or_in_a_readable_refusal(int seed)
    {
        var random = new Random(seed);
        int results = 0, refusals = 0;
        for (int trial = 0; trial < 40; trial++)
        {
            bool awkward = trial % 2 == 0;
            int count = random.Next(0, 14);
            double Draw(double low, double high) =>
                awkward && random.Next(6) == 0 ? Awkward[random.Next(Awkward.Length)] : low + ((high - low) * random.NextDouble());
            bool stated = random.Next(2) == 0;
            double Uncertainty(double high) => stated ? Draw(0.01, high) : double.NaN;

            var response = (ResponseModel)random.Next(3);
            var background = (ResponseBackground)random.Next(3);
            Try(() => ResonanceStudies.Run(
                [.. Enumerable.Range(0, count).Select(_ => new ResonancePoint(Draw(39, 41), Draw(0, 30), Uncertainty(1)))],
                new ResonanceOptions { Response = response, Background = background, TauSeconds = new(2, 0.1) }).Fit.F0Hz.Value);
            Try(() => StiffnessStudies.Run([.. Enumerable.Range(0, count).Select(
                _ => new StiffnessPoint(Draw(-1, 1), Draw(30, 50), stated ? Draw(0, 0.1) : 0, Uncertainty(1)))]).Line.Slope.Value);
            Try(() => DampingStudies.Run([.. Enumerable.Range(0, count).Select(
                _ => new DampingRun(Math.Round(Draw(0, 4)), Draw(1, 3), Uncertainty(0.1), Draw(39, 41)))]).Settings[0].RatePerS.Value);
        }

        // Both outcomes occur, or the test would prove little.
        Assert.True(results > 20 && refusals > 20, $"{results} results, {refusals} refusals");

        void Try(Func<double> study)
        {
            try
            {
                Assert.True(double.IsFinite(study()));
                results++;
            }
            catch (UnusableInputException refusal)
            {
                Assert.NotEmpty(refusal.NextStep);
                refusals++;
            }
        }
    }
}
