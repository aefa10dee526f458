using System.Text;

namespace StreakTrack.Grading;

/// <summary>Rows of a CSV file with texts in quotes (RFC 4180), read independently of what writes them.</summary>
internal static class CsvRows
{
    /// <summary>Each row by the names of its columns.</summary>
    public static IEnumerable<Dictionary<string, string>> Read(string path)
    {
        var rows = new List<List<string>> { new() };
        var cell = new StringBuilder();
        bool quoted = false;
        string text = File.ReadAllText(path);
        for (int i = 0; i < text.Length; i++)
        {
            char c = text[i];
            if (quoted && c == '"' && i + 1 < text.Length && text[i + 1] == '"')
                cell.Append(text[++i]);
            else if (c == '"')
                quoted = !quoted;
            else if (!quoted && c is ',' or '\n')
            {
                rows[^1].Add(cell.ToString().TrimEnd('\r'));
                cell.Clear();
                if (c == '\n')
                    rows.Add([]);
            }
            else
                cell.Append(c);
        }

        List<string> columns = rows[0];
        return rows.Skip(1).Where(r => r.Count == columns.Count).Select(r => columns.Zip(r).ToDictionary(p => p.First, p => p.Second));
    }
}
