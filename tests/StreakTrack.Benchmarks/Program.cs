using System.Globalization;
using BenchmarkDotNet.Running;
using StreakTrack.Benchmarks;

// Kernels:      dotnet run --project tests/StreakTrack.Benchmarks -c Release -- --filter '*'
// Whole job:    dotnet publish src/StreakTrack.Cli -c Release -o PROGRAM
//               dotnet run --project tests/StreakTrack.Benchmarks -c Release -- whole PROGRAM/streaktrack CLIPS [PYTHON [RUNS [LONGEST [PART]]]]
// Both readers: dotnet run --project tests/StreakTrack.Benchmarks -c Release -- readers
// The second one makes clips in the folder CLIPS, uses those that are there already, and writes docs/performance.md: the median of RUNS runs
// (3), clips up to LONGEST seconds (600). With PART, a word of a heading, only that part is
// measured anew. It needs ffmpeg, and for the comparison with a script a Python with OpenCV and SciPy (python3).
if (args is ["whole", string program, string clips, ..])
{
    WholeJob.Run(Path.GetFullPath(program), Path.GetFullPath(clips), Argument(3) ?? "python3", int.Parse(Argument(4) ?? "3", CultureInfo.InvariantCulture),
        double.Parse(Argument(5) ?? "600", CultureInfo.InvariantCulture), Argument(6) ?? "");
}
else if (args is ["readers"])
{
    ReaderComparison.Run(WholeJob.RepositoryRoot());
}
else
{
    BenchmarkSwitcher.FromAssembly(typeof(KernelBenchmarks).Assembly).Run(args);
}

string? Argument(int index) => index < args.Length ? args[index] : null;
