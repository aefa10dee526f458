using System.Globalization;
using BenchmarkDotNet.Running;
using StreakTrack.Benchmarks;

// Kernels:      dotnet run --project tests/StreakTrack.Benchmarks -c Release -- --filter '*'
// Whole job:    dotnet publish src/StreakTrack.Cli -c Release -o PROGRAM
//               dotnet run --project tests/StreakTrack.Benchmarks -c Release -- whole PROGRAM/streaktrack CLIPS [PYTHON [REPETITIONS [LONGEST]]]
// Both readers: dotnet run --project tests/StreakTrack.Benchmarks -c Release -- readers
// The second one makes clips in the folder CLIPS, uses those that are there already, and writes docs/performance.md: REPETITIONS turns of each
// program on a clip (3), clips up to LONGEST seconds (600). It takes about 20 minutes of an idle machine, besides making the clips once. Every
// single run is kept in CLIPS/measured.json, so that a measurement that was broken off goes on where it was; without that file, or with another
// build of the program, all is measured anew. It needs ffmpeg, and for the comparison with a script a Python with OpenCV and SciPy (python3).
if (args is ["whole", string program, string clips, ..])
{
    string folder = Path.GetFullPath(clips);
    Directory.CreateDirectory(folder);
    new WholeJob(
        Path.GetFullPath(program), folder, Argument(3) ?? "python3", int.Parse(Argument(4) ?? "3", CultureInfo.InvariantCulture),
        double.Parse(Argument(5) ?? "600", CultureInfo.InvariantCulture)).Run();
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
