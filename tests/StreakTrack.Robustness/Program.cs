using System.Globalization;
using StreakTrack.Imaging.Clips;
using StreakTrack.Robustness;
using StreakTrack.Robustness.Faults;
using StreakTrack.Robustness.Fuzzing;
using StreakTrack.Tests.Shared;

// Tries mutants at every door, brings about faults of the machine, and writes docs/robustness.md:
//   dotnet run --project tests/StreakTrack.Robustness -c Release
// With a number after "--", so many thousandths of the mutants are tried, and the page goes to the terminal; a word after it chooses the
// doors and faults whose names contain it.
if (args is [DecodeWorker.Word, ..])
{
    DecodeWorker.Run(args[1..]);
    return;
}

double share = args.Length > 0 ? double.Parse(args[0], CultureInfo.InvariantCulture) / 1000 : 1;
string word = args.Length > 1 ? args[1] : "";
var counts = new List<FuzzCount>();
using (var sandbox = new Sandbox())
{
    foreach (FuzzTarget target in (await FuzzTargets.AllAsync(sandbox)).Where(t => t.What.Contains(word, StringComparison.Ordinal)))
        Add(await Fuzzer.RunAsync(target, sandbox, 0, Share(FuzzTargets.LongRun(target))));
}

foreach (string clip in FuzzTargets.Clips)
{
    foreach (ReaderChoice reader in new[] { ReaderChoice.Embedded, ReaderChoice.Ffmpeg })
    {
        if ($"{clip} {reader}".Contains(word, StringComparison.OrdinalIgnoreCase))
            Add(DecodeWorker.Count(Fixtures.PathOf("clips-small", clip), reader, -1, Share(reader == ReaderChoice.Embedded ? 1500 : 150)));
    }
}

var faults = new List<FaultResult>();
using (var cases = new FaultCases())
{
    foreach ((string name, Func<Task<FaultResult>> run) in cases.All(kills: Share(60)).Where(c => c.Name.Contains(word, StringComparison.Ordinal)))
    {
        faults.Add(await run());
        Console.Error.WriteLine($"{name}: {faults[^1].Outcome}: {faults[^1].Message} {string.Join("; ", faults[^1].Problems)}");
    }
}

string page = RobustnessPage.Write(counts, faults);
if (args.Length > 0)
    Console.Write(page);
else
    File.WriteAllText(Path.Combine(Fixtures.RepositoryRoot, "docs", "robustness.md"), page);

int Share(int count) => Math.Max(1, (int)(share * count));

void Add(FuzzCount count)
{
    counts.Add(count);
    Console.Error.WriteLine($"{count.What}: {count.Inputs} tried, {count.Taken} taken, {count.Refused} refused, {count.Hangs} hangs, {count.Faults.Count} faults");
    foreach (string fault in count.Faults.Take(10))
        Console.Error.WriteLine("  " + fault);
}
