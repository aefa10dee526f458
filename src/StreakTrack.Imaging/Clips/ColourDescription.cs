namespace StreakTrack.Imaging.Clips;

/// <summary>How sample values relate to light: matrix, range and transfer function.</summary>
/// <param name="Matrix">Weights that took R'G'B' to Y'CbCr.</param>
/// <param name="FullRange">True when codes use the whole range (0..255); false for 16..235 (luma) and 16..240 (colour).</param>
/// <param name="Transfer">The function from light to code.</param>
/// <param name="ChromaLeftSited">True when 4:2:0 and 4:2:2 colour samples lie over the left one of the two columns that share them.</param>
/// <param name="Assumed">True when the file did not say and the usual values for its size were taken.</param>
public sealed record ColourDescription(
    ColourMatrix Matrix, bool FullRange, TransferFunction Transfer, bool ChromaLeftSited, bool Assumed);
