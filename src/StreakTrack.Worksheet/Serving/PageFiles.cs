using System.Reflection;

namespace StreakTrack.Worksheet.Serving;

/// <summary>The files of the page, read from the assembly once.</summary>
internal static class PageFiles
{
    private const string Prefix = "Page/";

    private static readonly Dictionary<string, string> Types = new(StringComparer.Ordinal)
    {
        [".html"] = "text/html; charset=utf-8",
        [".js"] = "text/javascript; charset=utf-8",
        [".css"] = "text/css; charset=utf-8",
        [".svg"] = "image/svg+xml",
    };

    private static readonly Lazy<Dictionary<string, PageFile>> Files = new(ReadAll);

    /// <summary>The file of an address; null where there is none.</summary>
    /// <param name="path">Path of the address, "/ruler.js".</param>
    public static PageFile? Find(string path) => Files.Value.GetValueOrDefault(path == "/" ? "/index.html" : path);

    private static Dictionary<string, PageFile> ReadAll()
    {
        Assembly assembly = typeof(PageFiles).Assembly;
        var files = new Dictionary<string, PageFile>(StringComparer.Ordinal);
        foreach (string name in assembly.GetManifestResourceNames().Where(n => n.StartsWith(Prefix, StringComparison.Ordinal)))
        {
            if (!Types.TryGetValue(Path.GetExtension(name), out string? type))
                continue;
            using Stream stream = assembly.GetManifestResourceStream(name)!;
            byte[] bytes = new byte[stream.Length];
            stream.ReadExactly(bytes);
            files["/" + name[Prefix.Length..].Replace('\\', '/')] = new PageFile(bytes, type);
        }

        return files;
    }
}

/// <summary>One file of the page.</summary>
internal sealed record PageFile(ReadOnlyMemory<byte> Bytes, string ContentType);
