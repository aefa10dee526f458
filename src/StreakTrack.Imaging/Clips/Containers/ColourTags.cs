namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>What a stream or its container says of its colours, in the code points of ITU-T H.273; null where it says nothing.</summary>
/// <param name="Transfer">TransferCharacteristics.</param>
/// <param name="Matrix">MatrixCoefficients.</param>
/// <param name="FullRange">VideoFullRangeFlag.</param>
/// <param name="ChromaLeftSited">Whether colour samples lie over the left of their columns.</param>
internal sealed record ColourTags(int? Transfer = null, int? Matrix = null, bool? FullRange = null, bool? ChromaLeftSited = null)
{
    private const int Unspecified = 2;

    /// <summary>These tags, with those of <paramref name="other"/> where these say nothing.</summary>
    public ColourTags Or(ColourTags other) => new(
        Known(Transfer) ?? other.Transfer, Known(Matrix) ?? other.Matrix, FullRange ?? other.FullRange, ChromaLeftSited ?? other.ChromaLeftSited);

    /// <summary>The description that the product works with.</summary>
    /// <param name="height">Rows of the picture as it is broadcast, for what has to be assumed.</param>
    public ColourDescription Describe(int height)
    {
        // Untagged pictures of standard definition are BT.601, larger ones BT.709: the rule of thumb of players.
        ColourMatrix? matrix = Matrix switch
        {
            1 => ColourMatrix.Bt709,
            5 or 6 => ColourMatrix.Bt601,
            9 or 10 => ColourMatrix.Bt2020,
            _ => null,
        };
        TransferFunction? transfer = Transfer switch
        {
            1 or 6 or 14 or 15 => TransferFunction.Bt709,
            8 => TransferFunction.Linear,
            13 => TransferFunction.Srgb,
            16 => TransferFunction.Pq,
            18 => TransferFunction.Hlg,
            _ => null,
        };
        return new ColourDescription(
            matrix ?? (height > 576 ? ColourMatrix.Bt709 : ColourMatrix.Bt601),
            FullRange ?? false,
            transfer ?? TransferFunction.Bt709,
            ChromaLeftSited ?? true,
            matrix is null || transfer is null);
    }

    private static int? Known(int? code) => code == Unspecified ? null : code;
}
