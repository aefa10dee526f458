using System.Text;
using System.Text.Json.Nodes;
using System.Text.RegularExpressions;

namespace StreakTrack.Robustness.Fuzzing;

/// <summary>Seeded changes to a file: of its bytes, of the numbers and lines of its text, and of the tree of its JSON. One seed, one
/// mutant.</summary>
internal static partial class Mutator
{
    private const int LongLineCharacters = 10_000_000;

    private static readonly string[] StrangeNumbers =
    [
        "NaN", "nan", "Infinity", "-Infinity", "1e308", "-1e308", "1e154", "1e999", "1e-320", "-0", "0", "-1", "1e-9", "1e9", "2147483647", "2147483648",
        "-2147483648", "9223372036854775808", "99999999999999999999999999", "1,5", "0x10", "1e", "--1", "", " ", "null", "true", "text", "\"", "\"\"",
        "\u0661\u0662", "\u221E", "=1+1", "-", "1_000",
    ];

    /// <summary>Numbers that a reader must take, and that are hard on what comes behind it.</summary>
    private static readonly string[] HardNumbers =
    [
        "1e308", "-1e308", "1e154", "1e-320", "-0", "0", "-1", "1e-9", "1e9", "2147483647", "1e16", "0.1", "3", "17", "1000", "-1e-300", "1e-154", "5e5",
    ];

    private static readonly byte[][] StrangeBytes =
    [
        [0], [0, 0, 0, 0], [0xEF, 0xBB, 0xBF], [0xFF, 0xFE], [0xED, 0xA0, 0x80], [0xC0, 0x80], [0xFF], [13], [13, 10], [10, 13], [34], [44], [9], [59], [35],
        [0xE2, 0x80, 0xA8], [0xC2, 0x85], [0x1B, 0x5B, 0x33, 0x31, 0x6D],
    ];

    /// <summary>A mutant of a text file.</summary>
    public static byte[] OfText(byte[] original, int seed)
    {
        var random = new Random(seed);

        // Rare, because each takes as long as a thousand others.
        if (seed % 997 == 996)
            return [.. original, .. Encoding.ASCII.GetBytes(new string(seed % 2 == 0 ? '1' : ',', LongLineCharacters))];
        byte[] mutant = original;
        for (int change = random.Next(1, 4); change > 0; change--)
        {
            mutant = random.Next(8) switch
            {
                0 => OfBytes(mutant, random),
                1 => WithStrangeBytes(mutant, random),
                2 => WithLines(mutant, random),
                _ => WithStrangeNumbers(mutant, random),
            };
        }

        return mutant;
    }

    /// <summary>A mutant of a zip archive: of its bytes, half of the time in the directory at its end.</summary>
    public static byte[] OfArchive(byte[] original, int seed)
    {
        var random = new Random(seed);
        int directory = Math.Max(0, original.Length - 200);
        byte[] mutant = original;
        for (int change = random.Next(1, 4); change > 0; change--)
        {
            mutant = random.Next(2) == 0 && mutant.Length > directory
                ? [.. mutant[..directory], .. OfBytes(mutant[directory..], random)]
                : OfBytes(mutant, random);
        }

        return mutant;
    }

    /// <summary>A mutant of a JSON file.</summary>
    public static byte[] OfJson(byte[] original, int seed)
    {
        var random = new Random(seed);
        if (random.Next(3) == 0)
            return OfText(original, seed);
        JsonNode root = JsonNode.Parse(original)!;
        for (int change = random.Next(1, 3); change > 0; change--)
        {
            JsonNode[] places = [.. Inside(root)];
            if (places.Length > 0)
                Replace(places[random.Next(places.Length)], random);
        }

        string text = root.ToJsonString();
        if (random.Next(12) == 0)
        {
            // A key twice: two readers may take different ones.
            int key = text.IndexOf("\":", random.Next(text.Length / 2), StringComparison.Ordinal);
            int start = key < 0 ? -1 : text.LastIndexOf('"', key - 1);
            if (start > 0)
                text = text[..start] + text[start..(key + 2)] + "1," + text[start..];
        }

        return Encoding.UTF8.GetBytes(text);
    }

    /// <summary>A mutant of a binary file.</summary>
    public static byte[] OfBinary(byte[] original, int seed)
    {
        var random = new Random(seed);
        byte[] mutant = original;
        for (int change = random.Next(1, 6); change > 0; change--)
            mutant = OfBytes(mutant, random);
        return mutant;
    }

    private static byte[] OfBytes(byte[] original, Random random)
    {
        if (original.Length == 0)
            return [(byte)random.Next(256)];
        int at = random.Next(original.Length), length = Math.Min(random.Next(1, 64), original.Length - at);
        byte[] copy = [.. original];
        switch (random.Next(8))
        {
            case 0:
                copy[at] ^= (byte)(1 << random.Next(8));
                return copy;
            case 1:
                copy[at] = (byte)random.Next(256);
                return copy;
            case 2:
                random.NextBytes(copy.AsSpan(at, length));
                return copy;
            case 3:
                copy.AsSpan(at, Math.Min(4, copy.Length - at)).Fill(random.Next(2) == 0 ? (byte)255 : (byte)0);
                return copy;
            case 4:
                return [.. original[..at], .. original[(at + length)..]];
            case 5:
                return [.. original[..at], .. original.AsSpan(at, length), .. original[at..]];
            case 6:
                // A stretch from somewhere else in the file.
                original.AsSpan(random.Next(original.Length - length + 1), length).CopyTo(copy.AsSpan(at));
                return copy;
            default:
                return random.Next(4) == 0 ? original[..at] : copy;
        }
    }

    private static byte[] WithStrangeBytes(byte[] original, Random random)
    {
        int at = random.Next(original.Length + 1);
        return [.. original[..at], .. StrangeBytes[random.Next(StrangeBytes.Length)], .. original[at..]];
    }

    private static byte[] WithLines(byte[] original, Random random)
    {
        var lines = Encoding.Latin1.GetString(original).Split('\n').ToList();
        int at = random.Next(lines.Count), from = random.Next(lines.Count);
        switch (random.Next(6))
        {
            case 0:
                lines.RemoveAt(at);
                break;
            case 1:
                lines.Insert(at, lines[from]);
                break;
            case 2:
                (lines[at], lines[from]) = (lines[from], lines[at]);
                break;
            case 3:
                lines.RemoveRange(at, lines.Count - at);
                break;
            case 4:
                lines.InsertRange(at, Enumerable.Repeat(lines[from], random.Next(1, 2000)));
                break;
            default:
                lines = [.. lines.Select(line => random.Next(2) == 0 ? line.TrimEnd('\r') : line + '\r')];
                break;
        }

        return Encoding.Latin1.GetBytes(string.Join('\n', lines));
    }

    private static byte[] WithStrangeNumbers(byte[] original, Random random)
    {
        string text = Encoding.UTF8.GetString(original);
        MatchCollection numbers = NumberPattern().Matches(text);
        if (numbers.Count == 0)
            return original;
        int chosen = random.Next(numbers.Count), column = random.Next(3) == 0 ? random.Next(1, 12) : 0, index = 0;
        string[] pool = random.Next(3) == 0 ? StrangeNumbers : HardNumbers;
        string strange = pool[random.Next(pool.Length)];

        // One number, or every so-manieth: a whole column of a table.
        return Encoding.UTF8.GetBytes(NumberPattern().Replace(text,
            match => index++ == chosen || (column > 0 && index % column == 0) ? strange : match.Value));
    }

    private static IEnumerable<JsonNode> Inside(JsonNode node)
    {
        IEnumerable<JsonNode?> children = node switch
        {
            JsonObject o => o.Select(property => property.Value),
            JsonArray a => a,
            _ => [],
        };
        foreach (JsonNode child in children.OfType<JsonNode>())
        {
            yield return child;
            foreach (JsonNode deeper in Inside(child))
                yield return deeper;
        }
    }

    private static void Replace(JsonNode node, Random random)
    {
        JsonNode? replacement = random.Next(14) switch
        {
            0 or 1 => null,
            2 => new JsonArray(),
            3 => new JsonObject(),
            4 => new JsonArray(null, null),
            5 => JsonValue.Create(1e308),
            6 => JsonValue.Create(-1e308),
            7 => JsonValue.Create(-1),
            8 => JsonValue.Create(0),
            9 => JsonValue.Create(long.MaxValue),
            10 => JsonValue.Create("../../../tmp/elsewhere"),
            11 => JsonValue.Create("\uD83D\uDE00\u0000"),
            12 => JsonValue.Create(int.MaxValue),
            _ => Deep(random.Next(1, 500)),
        };
        switch (node.Parent)
        {
            case JsonArray array when random.Next(4) == 0:
                array.RemoveAt(node.GetElementIndex());
                break;
            case JsonArray array:
                array[node.GetElementIndex()] = replacement;
                break;
            case JsonObject parent when random.Next(6) == 0:
                parent.Remove(node.GetPropertyName());
                break;
            case JsonObject parent:
                parent[node.GetPropertyName()] = replacement;
                break;
        }
    }

    private static JsonNode Deep(int levels)
    {
        JsonNode inner = new JsonArray();
        for (int i = 0; i < levels; i++)
            inner = new JsonArray(inner);
        return inner;
    }

    [GeneratedRegex(@"-?\d+(\.\d+)?([eE][+-]?\d+)?")]
    private static partial Regex NumberPattern();
}
