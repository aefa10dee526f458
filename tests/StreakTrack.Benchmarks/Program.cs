using BenchmarkDotNet.Running;
using StreakTrack.Benchmarks;

// Kernels:      dotnet run --project tests/StreakTrack.Benchmarks -c Release -- --filter '*'
// Whole job:    dotnet publish src/StreakTrack.Cli -c Release -o PROGRAM
//               dotnet run --project tests/StreakTrack.Benchmarks -c Release -- whole PROGRAM/streaktrack CLIPS [PYTHON]
// The second one makes clips in the folder CLIPS, uses those that are there already, and writes docs/performance.md; it needs ffmpeg, and for the comparison with a script Python with OpenCV and SciPy.
if (args is ["whole", string program, string clips, ..])
    WholeJob.Run(Path.GetFullPath(program), Path.GetFullPath(clips), args.Length > 3 ? args[3] : "python3");
else
    BenchmarkSwitcher.FromAssembly(typeof(KernelBenchmarks).Assembly).Run(args);
