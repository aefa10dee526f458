using System.Text;
using System.Xml.Linq;

namespace StreakTrack.Reporting.Pages;

/// <summary>Sets a formula as ISO 80000-1 wants it: symbols of quantities in italics, numbers, functions, units and constants
/// upright.</summary>
internal static class Formula
{
    /// <summary>Signs that stand for constants or operators although they are single letters: pi, the imaginary unit.</summary>
    private const string UprightLetters = "πi";

    /// <summary>The formula in a span that does not break.</summary>
    /// <param name="text">The formula as plain text: "A(t) = A₀ exp(−(t − t₀)/τ)".</param>
    public static XElement Write(string text)
    {
        XElement span = Html.El("span", "formula");
        StringBuilder upright = new();
        void Flush()
        {
            if (upright.Length > 0)
                span.Add(upright.ToString());
            upright.Clear();
        }

        int i = 0;
        while (i < text.Length)
        {
            int end = i;
            while (end < text.Length && char.IsLetter(text[end]))
                end++;
            if (end == i)
            {
                upright.Append(text[i++]);
                continue;
            }

            // A word is a function; one letter is a quantity; a d or δ before one letter is an operator on it.
            int letters = end - i;
            int symbolAt = letters == 1 ? i : letters == 2 && text[i] is 'd' or 'δ' ? i + 1 : end;
            upright.Append(text, i, symbolAt - i);
            if (symbolAt < end && UprightLetters.Contains(text[symbolAt]))
            {
                upright.Append(text[symbolAt]);
            }
            else if (symbolAt < end)
            {
                Flush();
                span.Add(Html.Symbol(text[symbolAt].ToString()));
            }

            i = end;
        }

        Flush();
        return span;
    }
}
