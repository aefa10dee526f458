namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>How a stream's samples are stored.</summary>
/// <param name="Width">Columns of the coded picture, without padding; 0 where unknown.</param>
/// <param name="Height">Rows of the coded picture; 0 where unknown.</param>
/// <param name="ChromaFormat">chroma_format_idc: 0 brightness only, 1 4:2:0, 2 4:2:2, 3 4:4:4.</param>
/// <param name="BitDepth">Bits per sample.</param>
/// <param name="Tags">Colour tags.</param>
internal sealed record StreamFormat(int Width, int Height, int ChromaFormat, int BitDepth, ColourTags Tags);
