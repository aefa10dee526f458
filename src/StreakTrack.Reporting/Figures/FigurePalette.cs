using ScottPlot;

namespace StreakTrack.Reporting.Figures;

/// <summary>The one table of figure colours, for light paper; the page's style sheet holds the dark counterparts under the same class
/// names.</summary>
/// <remarks>
/// Data, model, second series and outliers follow the set of M. Okabe and K. Ito, "Color Universal Design" (2008), which stays apart for
/// all
/// common kinds of colour blindness; since hues can fall together in grey print, roles also differ in shape or line.
/// Every colour is used by one role only, so that a role can be read back from a drawing's colour.
/// </remarks>
internal static class FigurePalette
{
    private static readonly (FigureRole Role, string Hex)[] Table =
    [
        (FigureRole.Paper, "#FFFFFF"),
        (FigureRole.Ink, "#1B2127"),
        (FigureRole.Muted, "#5A6570"),
        (FigureRole.Faint, "#E1E5E9"),
        (FigureRole.Data, "#0072B2"),
        (FigureRole.Model, "#D55E00"),
        (FigureRole.Scatter, "#F9E8DB"),
        (FigureRole.Band, "#EFBF98"),
        (FigureRole.LeftOut, "#8D98A3"),
        (FigureRole.Second, "#007A5A"),
        (FigureRole.Outlier, "#A3387C"),
    ];

    /// <summary>All roles with their colours as #RRGGBB.</summary>
    public static IReadOnlyList<(FigureRole Role, string Hex)> All => Table;

    /// <summary>A role's colour as #RRGGBB.</summary>
    public static string Hex(FigureRole role) => Table[(int)role].Hex;

    /// <summary>A role's colour.</summary>
    public static Color Of(FigureRole role) => Color.FromHex(Hex(role));

    /// <summary>The class name of a role in drawings and style sheets: "left-out".</summary>
    public static string ClassName(FigureRole role) => role switch
    {
        FigureRole.Paper => "paper",
        FigureRole.Ink => "ink",
        FigureRole.Muted => "muted",
        FigureRole.Faint => "faint",
        FigureRole.Data => "data",
        FigureRole.Model => "model",
        FigureRole.Scatter => "scatter",
        FigureRole.Band => "band",
        FigureRole.LeftOut => "left-out",
        FigureRole.Second => "second",
        FigureRole.Outlier => "outlier",
        _ => throw new ArgumentOutOfRangeException(nameof(role), role, "Unknown role."),
    };

    /// <summary>The role that a colour written by the drawing library stands for; null for colours outside the palette.</summary>
    /// <param name="colour">"#1B2127", or one of the two names that the library writes: "white", "black".</param>
    public static FigureRole? RoleOf(string colour)
    {
        string hex = colour switch { "white" => "#FFFFFF", "black" => "#000000", _ => colour };
        foreach ((FigureRole role, string known) in Table)
        {
            if (string.Equals(known, hex, StringComparison.OrdinalIgnoreCase))
                return role;
        }

        return null;
    }
}
