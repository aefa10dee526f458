namespace StreakTrack.Cli.Commands;

/// <summary>The order of file names in which cameras count: p2 before p10.</summary>
internal static class NumberedNames
{
    /// <summary>Compares names piece by piece: digits by the number they write, all else by its characters.</summary>
    public static IComparer<string> Order { get; } = Comparer<string>.Create(Compare);

    private static int Compare(string? a, string? b)
    {
        ArgumentNullException.ThrowIfNull(a);
        ArgumentNullException.ThrowIfNull(b);
        int i = 0, j = 0;
        while (i < a.Length && j < b.Length)
        {
            if (char.IsAsciiDigit(a[i]) && char.IsAsciiDigit(b[j]))
            {
                // Of numbers without leading zeros the longer is the larger, however long they are.
                ReadOnlySpan<char> first = Digits(a, ref i).TrimStart('0'), second = Digits(b, ref j).TrimStart('0');
                int order = first.Length != second.Length ? first.Length - second.Length : first.SequenceCompareTo(second);
                if (order != 0)
                    return order;
                continue;
            }

            int difference = char.ToLowerInvariant(a[i++]) - char.ToLowerInvariant(b[j++]);
            if (difference != 0)
                return difference;
        }

        int rest = (a.Length - i) - (b.Length - j);
        return rest != 0 ? rest : string.CompareOrdinal(a, b);
    }

    private static ReadOnlySpan<char> Digits(string text, ref int at)
    {
        int from = at;
        while (at < text.Length && char.IsAsciiDigit(text[at]))
            at++;
        return text.AsSpan(from, at - from);
    }
}
