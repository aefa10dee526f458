using StreakTrack.Grading;
using StreakTrack.Grading.Class;
using StreakTrack.Grading.Studies;
using StreakTrack.Tests.Shared;

// Makes a class of submissions with known faults, grades it many times over, and writes docs/grading-measured.md:
//   dotnet run --project tests/StreakTrack.Grading -c Release
// With a folder after "--" the class is made there and graded once, and expected and found verdicts go to the terminal.
const int Kills = 20;
const int Seed = 20260107;

string work = args.Length > 0 ? Path.GetFullPath(args[0]) : Directory.CreateTempSubdirectory("streaktrack-grading-").FullName;
string folder = Path.Combine(work, "class");
IReadOnlyList<Expectation> expected = await new ClassMaker(folder).MakeAsync();
Say($"{expected.Count} submissions made");
GradedClass two = await GradedClass.OfAsync(folder, Path.Combine(work, "graded-2"), 2);
IReadOnlyList<FoundVerdict> found = VerdictStudy.Of(expected, Path.Combine(work, "graded-2"));
foreach (FoundVerdict f in found.Where(f => f.Misses.Count > 0))
    Say($"{f.Expected.Submission}: {string.Join("; ", f.Misses)} ({string.Join(' ', f.Codes)})");
Say($"graded, two at once: {two.Seconds:0} s");
if (args.Length > 0)
    return;

GradedClass one = await GradedClass.OfAsync(folder, Path.Combine(work, "graded-1"), 1);
Say($"graded, one at a time: {one.Seconds:0} s");
KillStudy kills = await KillStudy.OfAsync(folder, Path.Combine(work, "killed"), Kills, two.Seconds, Seed, Say);
Say($"killed {kills.Kills} times: table {(kills.Table.TableSha256 == two.TableSha256 ? "identical" : "DIFFERENT")}");
var repeats = new List<RepeatStudy>();
foreach (string name in new[] { "honest-1", "honest-hard-1", "honest-rise" })
    repeats.Add(await RepeatStudy.OfAsync(Path.Combine(folder, name), Path.Combine(work, "repeated", name)));
SlurmStudy? slurm = await SlurmStudy.OfAsync(folder, Path.Combine(work, "slurm"));
Say(slurm is null ? "no Slurm" : $"Slurm: {slurm.Seconds:0} s");
File.WriteAllText(Path.Combine(Fixtures.RepositoryRoot, "docs", "grading-measured.md"), GradingPage.Write(found, one, two, kills, repeats, slurm));
Directory.Delete(work, recursive: true);

static void Say(string line) => Console.Error.WriteLine(line);
