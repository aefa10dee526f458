using StreakTrack.Grading;
using StreakTrack.Grading.Class;
using StreakTrack.Grading.Studies;
using StreakTrack.Tests.Shared;

// Makes a class of submissions with known faults, grades it many times over, and writes docs/grading-measured.md:
//   dotnet run --project tests/StreakTrack.Grading -c Release
// With a folder after "--" what is made and measured stays there; names of steps after it do only those, each after the ones before it:
//   class   makes the class, grades it and says what was judged wrongly
//   kills   kills the run over and over and continues it
//   repeat  analyses the same clip with the same record twice
//   pace    times one and two at once; wants a quiet machine
//   slurm   grades the class as an array job, where a node of a Slurm is idle
//   page    writes the page
const int Kills = 20;
const int Seed = 20260107;

string work = args.Length > 0 ? Path.GetFullPath(args[0]) : Directory.CreateTempSubdirectory("streaktrack-grading-").FullName;
string[] steps = args.Length > 1 ? args[1..] : ["class", "kills", "repeat", "pace", "slurm", "page"];
string folder = Path.Combine(work, "class"), graded = Path.Combine(work, "graded");
foreach (string step in steps)
{
    switch (step)
    {
        case "class":
            IReadOnlyList<Expectation> expected = await KeptStep.DoAsync(work, "expected", () => new ClassMaker(folder).MakeAsync());
            GradedClass whole = await KeptStep.DoAsync(work, step, () => GradedClass.OfAsync(folder, graded, 2));
            Say($"{expected.Count} submissions graded in {whole.Seconds:0} s");
            foreach (FoundVerdict f in VerdictStudy.Of(expected, graded).Where(f => f.Misses.Count > 0))
                Say($"{f.Expected.Submission}: {string.Join("; ", f.Misses)} ({string.Join(' ', f.Codes)})");
            break;
        case "kills":
            GradedClass undisturbed = KeptStep.Read<GradedClass>(work, "class");
            KillStudy kills = await KeptStep.DoAsync(work, step, () => KillStudy.OfAsync(folder, Path.Combine(work, "killed"), Kills, undisturbed.Seconds, Seed));
            Say($"killed {kills.DoneBefore.Count} times, after {string.Join(", ", kills.DoneBefore)} submissions: table {(kills.Table.TableSha256 == undisturbed.TableSha256 ? "identical" : "DIFFERENT")}");
            break;
        case "repeat":
            await KeptStep.DoAsync(work, step, async () =>
            {
                var repeats = new List<RepeatStudy>();
                foreach (string name in new[] { "honest-1", "honest-hard-1", "honest-rise" })
                    repeats.Add(await RepeatStudy.OfAsync(Path.Combine(folder, name), Path.Combine(work, "repeated", name)));
                return repeats;
            });
            break;
        case "pace":
            PaceStudy pace = await KeptStep.DoAsync(work, step, () => PaceStudy.OfAsync(folder, work));
            Say($"{pace.Submissions} submissions: {pace.OneAtATimeSeconds:0.0} s one at a time, {pace.TwoAtOnceSeconds:0.0} s two at once");
            break;
        case "slurm":
            SlurmStudy? slurm = await KeptStep.DoAsync(work, step, () => SlurmStudy.OfAsync(folder, Path.Combine(work, "slurm")));
            Say(slurm is null ? "no node of a Slurm is idle" : $"Slurm: {slurm.Seconds:0} s");
            break;
        case "page":
            File.WriteAllText(Path.Combine(Fixtures.RepositoryRoot, "docs", "grading-measured.md"), GradingPage.Write(
                VerdictStudy.Of(KeptStep.Read<List<Expectation>>(work, "expected"), graded), KeptStep.Read<GradedClass>(work, "class"), KeptStep.Read<KillStudy>(work, "kills"),
                KeptStep.Read<PaceStudy>(work, "pace"), KeptStep.Read<List<RepeatStudy>>(work, "repeat"), KeptStep.Read<SlurmStudy?>(work, "slurm")));
            break;
        default:
            throw new ArgumentException($"There is no step {step}.");
    }
}

if (args.Length == 0)
    Directory.Delete(work, recursive: true);

static void Say(string line) => Console.Error.WriteLine(line);
