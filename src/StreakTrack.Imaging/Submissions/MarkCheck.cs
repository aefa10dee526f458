using System.Globalization;
using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Submissions;

/// <summary>Holds the readings of marks against the ticks in the picture.</summary>
/// <param name="Marks">The marks, corrected where the ticks say how.</param>
/// <param name="Findings">What was found.</param>
public sealed record MarkCheck(IReadOnlyList<RulerMark> Marks, IReadOnlyList<Finding> Findings)
{
    /// <summary>A reading is held to be wrong from this distance on, in mm: half the finest spacing of ticks.</summary>
    private const double MisreadMm = 0.5;

    /// <summary>No clip shows a whole streak with millimetres wider than this, in px: ticks farther apart are not the finest ones.</summary>
    private const double WidestMillimetrePx = 26;

    private static readonly double[] CoarseSteps = [2, 5, 10];

    /// <summary>Spacing of the finest ticks, 1 mm, in the unit that the readings would then have; finer ones first.</summary>
    private static readonly (double Pitch, string Mistake)[] FinerPitches =
        [(0.1, "readings in centimetres for millimetres"), (1 / 2.54, "readings in centimetres taken for inches")];

    private static readonly (double Pitch, string Mistake)[] CoarserPitches =
        [(2.54, "readings in inches taken for centimetres"), (10, "readings ten times too large"), (25.4, "readings in millimetres taken for inches")];

    /// <summary>Checks marks.</summary>
    /// <param name="picture">The usual picture of the clip.</param>
    /// <param name="marks">Two or more marks.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="UnusableInputException">The marks make no scale.</exception>
    public static MarkCheck Of(RulerPicture picture, IReadOnlyList<RulerMark> marks, CancellationToken cancellationToken)
    {
        var options = new RulerScaleOptions();
        RulerScale scale = RulerScaleFitter.Fit(marks, options);
        double pxPerReading = 1 / scale.MiddleMillimetresPerPixel;
        (double Pitch, string Mistake) wrong = FinerPitches.FirstOrDefault(p => Search(marks, p.Pitch).Found);
        if (wrong.Mistake is null)
        {
            if (Search(marks, 1) is { Found: true } fine)
                return HeldAgainst(fine);
            wrong = CoarserPitches.FirstOrDefault(p => p.Pitch * pxPerReading < WidestMillimetrePx && Search(marks, p.Pitch).Found);
        }

        if (wrong.Mistake is not null)
        {
            return new MarkCheck([.. marks.Select(m => m with { ReadingMm = m.ReadingMm / wrong.Pitch })],
                [FindingKinds.ScaleFactor.With(string.Create(CultureInfo.InvariantCulture,
                    $"By the readings the finest ticks are {wrong.Pitch:0.###} mm apart; if they are 1 mm apart, all lengths are {wrong.Pitch:0.###} times the true ones ({wrong.Mistake})."))]);
        }

        if (Search(marks, CoarseSteps) is { Found: true } coarse)
            return HeldAgainst(coarse);
        return Misread() ?? new MarkCheck(marks, [FindingKinds.TicksNotFound.With("The readings could not be checked: no ticks were found that agree with them.")]);

        TickSearch Search(IReadOnlyList<RulerMark> tried, params double[] steps) =>
            TickFinder.Find(picture, tried, options, new TickFinderOptions { StepsMm = steps }, cancellationToken);

        // A wrong mark among many can leave the ticks to be found all the same; then they say what it should read.
        MarkCheck HeldAgainst(TickSearch search)
        {
            bool[] isWrong = [.. marks.Select(m => Math.Abs(search.Scale.ReadingMmAt(m.Point) - m.ReadingMm) >= MisreadMm)];
            return new MarkCheck([.. marks.Where((_, i) => !isWrong[i])],
                [.. marks.Select((m, i) => (Mark: m, Index: i)).Where(x => isWrong[x.Index])
                    .Select(x => Wrong(x.Index, search.Scale.ReadingMmAt(x.Mark.Point)))]);
        }

        Finding Wrong(int i, double reading) => FindingKinds.MarkMisread.With(string.Create(CultureInfo.InvariantCulture,
            $"Mark {i + 1} reads {marks[i].ReadingMm:0.##} mm, but by the ticks between the other marks it lies at {reading:0.0} mm."));

        // Without the wrong mark the others agree with the ticks, and the ticks then say what it should read.
        MarkCheck? Misread()
        {
            if (marks.Count < 4)
                return null;
            foreach (int i in Enumerable.Range(0, marks.Count).OrderByDescending(i => Math.Abs(scale.Residuals[i].ResidualMm)))
            {
                RulerMark[] others = [.. marks.Where((_, k) => k != i)];
                if (Search(others, [1, .. CoarseSteps]) is not { Found: true } search)
                    continue;
                double reading = search.Scale.ReadingMmAt(marks[i].Point);
                return Math.Abs(reading - marks[i].ReadingMm) < MisreadMm ? null : new MarkCheck(others, [Wrong(i, reading)]);
            }

            return null;
        }
    }
}
