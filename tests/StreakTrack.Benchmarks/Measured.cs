using System.Security.Cryptography;
using System.Text.Json;

namespace StreakTrack.Benchmarks;

/// <summary>What has been measured so far, kept in a file after every single run: a measurement that is broken off goes on where it was.</summary>
internal sealed class Measured
{
    private static readonly JsonSerializerOptions Json = new() { WriteIndented = true };

    private readonly string _path;
    private Contents _contents;

    private Measured(string path, Contents contents) => (_path, _contents) = (path, contents);

    /// <summary>All runs.</summary>
    public IReadOnlyList<MeasuredRun> Runs => _contents.Runs;

    /// <summary>All kernels.</summary>
    public IReadOnlyList<MeasuredKernel> Kernels => _contents.Kernels;

    /// <summary>Goes on with a file, or begins anew where there is none or where it was measured with another build of the program.</summary>
    /// <param name="path">The file.</param>
    /// <param name="program">The published program.</param>
    public static Measured GoOn(string path, string program)
    {
        string build = BuildOf(program);
        Contents? kept = File.Exists(path) ? JsonSerializer.Deserialize<Contents>(File.ReadAllText(path), Json) : null;
        return new Measured(path, kept?.Build == build ? kept : new Contents(build, [], []));
    }

    /// <summary>Keeps a run.</summary>
    public void Add(MeasuredRun run) => Keep(_contents with { Runs = [.. _contents.Runs, run] });

    /// <summary>Keeps the kernels.</summary>
    public void Add(IEnumerable<MeasuredKernel> kernels) => Keep(_contents with { Kernels = [.. _contents.Kernels, .. kernels] });

    private void Keep(Contents contents)
    {
        _contents = contents;
        File.WriteAllText(_path + ".unfinished", JsonSerializer.Serialize(contents, Json));
        File.Move(_path + ".unfinished", _path, overwrite: true);
    }

    private static string BuildOf(string program)
    {
        using var hash = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        foreach (string file in Directory.EnumerateFiles(Path.GetDirectoryName(program)!, "*.dll").Order(StringComparer.Ordinal))
            hash.AppendData(File.ReadAllBytes(file));
        return Convert.ToHexStringLower(hash.GetHashAndReset());
    }

    private sealed record Contents(string Build, IReadOnlyList<MeasuredRun> Runs, IReadOnlyList<MeasuredKernel> Kernels);
}
