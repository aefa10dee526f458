namespace StreakTrack.Reporting.Figures;

/// <summary>A finished figure, in both forms.</summary>
/// <param name="Name">Stem of its file names: lower-case letters and hyphens.</param>
/// <param name="Title">Short title, as plain text.</param>
/// <param name="Description">What the figure shows, for readers who cannot see it; one or two sentences of plain text.</param>
/// <param name="Caption">The text under the figure: what the signs mean.</param>
/// <param name="Svg">The drawing as a complete SVG document; text is text, with a generic family as the last resort.</param>
/// <param name="Png">The drawing as a PNG picture with twice as many pixels as the drawing has units.</param>
public sealed record Figure(string Name, string Title, string Description, string Caption, string Svg, ReadOnlyMemory<byte> Png);
