using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Photos;

/// <summary>A photograph in its series.</summary>
/// <param name="Facts">The photograph.</param>
/// <param name="FrequencyHz">Frequency of the drive, in Hz; null where it is not known.</param>
/// <param name="ShiftU">How far it shows the scene to the right of the first photograph, roughly, in px.</param>
/// <param name="ShiftV">The same downward.</param>
internal sealed record SeriesPhoto(PhotoFacts Facts, double? FrequencyHz, int ShiftU, int ShiftV)
{
    /// <summary>Reads the photograph once more.</summary>
    /// <exception cref="Core.UnusableInputException">It is no longer what it was.</exception>
    public PhotoPixels Open()
    {
        byte[] bytes = PhotoFile.BytesOf(Facts.Path);
        return Facts.Sha256 == Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(bytes))
            ? PhotoFile.Decode(Facts, bytes)
            : throw new Core.UnusableInputException(Facts.Path, "the photograph was changed while it was read",
                "Wait until it is copied completely, then run the analysis again.");
    }

    /// <summary>Reads a part of it as a frame of the series.</summary>
    public void Read(RawFrame frame, int index, PixelRegion region, bool greyIsRed)
    {
        using PhotoPixels pixels = Open();
        pixels.Fill(frame, region, ShiftU, ShiftV, greyIsRed);
        (frame.Index, frame.TimeSeconds) = (index, index);
    }
}
