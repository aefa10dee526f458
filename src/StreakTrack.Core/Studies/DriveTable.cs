using System.Globalization;
using StreakTrack.Core.Tables;

namespace StreakTrack.Core.Studies;

/// <summary>The table of a stepped sweep: which drive frequency was set when.</summary>
public static class DriveTable
{
    /// <summary>Fewest steps that say something about a resonance.</summary>
    public const int FewestSteps = 3;

    /// <summary>Most steps; more than anybody sets in one clip.</summary>
    public const int MostSteps = 200;

    /// <summary>Reads a table with the columns <c>frequency_hz</c> and <c>start_s</c>, the latter in s of the clip.</summary>
    /// <param name="path">The CSV file.</param>
    /// <exception cref="UnusableInputException">A column is missing, a cell is no number, or the steps are not in order.</exception>
    public static IReadOnlyList<DriveStep> Read(string path) => StepsFrom(CsvTable.Read(path));

    /// <summary>The steps of a table that was read.</summary>
    /// <inheritdoc cref="Read"/>
    public static IReadOnlyList<DriveStep> StepsFrom(CsvTable table)
    {
        ArgumentNullException.ThrowIfNull(table);
        int frequency = table.Require("frequency_hz", "the drive frequency in Hz");
        int start = table.Require("start_s", "the time at which it was set, in s of the clip");
        DriveStep[] steps =
            [.. Enumerable.Range(0, table.RowCount).Select(row => new DriveStep(table.RequiredNumber(row, frequency), table.RequiredNumber(row, start)))];
        Check(steps, table.Subject);
        return steps;
    }

    /// <summary>Refuses steps that make no sweep.</summary>
    /// <param name="steps">The steps.</param>
    /// <param name="subject">What messages call them.</param>
    /// <exception cref="UnusableInputException">They are too few, too many, out of range or out of order.</exception>
    public static void Check(IReadOnlyList<DriveStep> steps, string subject)
    {
        ArgumentNullException.ThrowIfNull(steps);
        if (steps.Count is < FewestSteps or > MostSteps)
        {
            throw new UnusableInputException(subject, $"there are {steps.Count} drive steps; a sweep has {FewestSteps} to {MostSteps}",
                "List every drive frequency with the time at which it was set.");
        }

        for (int k = 0; k < steps.Count; k++)
        {
            DriveStep step = steps[k];
            if (!(step.FrequencyHz is > 0 and < 1e6))
            {
                throw new UnusableInputException(subject, string.Create(CultureInfo.InvariantCulture,
                    $"the drive frequency of step {k + 1} is {step.FrequencyHz} Hz"), "Give a positive frequency in Hz.");
            }

            if (!double.IsFinite(step.StartSeconds) || (k > 0 && !(step.StartSeconds > steps[k - 1].StartSeconds)))
            {
                throw new UnusableInputException(subject, string.Create(CultureInfo.InvariantCulture,
                    $"step {k + 1} starts at {step.StartSeconds} s, not after the step before it"), "Put the steps in the order of their times.");
            }
        }
    }
}
