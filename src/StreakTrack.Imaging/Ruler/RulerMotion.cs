using StreakTrack.Core.Scale;

namespace StreakTrack.Imaging.Ruler;

/// <summary>Where the ruler went between the reference picture and a frame: a shift, and the small affine change that turning, distance and a
/// rolling shutter add.</summary>
/// <remarks>The reference point x lies in the frame at x + shift + (matrix) (x - <see cref="Centre"/>).</remarks>
/// <param name="Centre">The reference point that the shift belongs to: the middle of the marked piece of the ruler.</param>
/// <param name="ShiftUPx">Shift to the right at the centre, in px.</param>
/// <param name="ShiftVPx">Shift downward at the centre, in px.</param>
/// <param name="UU">Change of the shift to the right per pixel to the right.</param>
/// <param name="UV">Change of the shift to the right per pixel downward.</param>
/// <param name="VU">Change of the shift downward per pixel to the right.</param>
/// <param name="VV">Change of the shift downward per pixel downward.</param>
/// <param name="Gain">Brightness of the frame over that of the reference.</param>
/// <param name="Correlation">Correlation of frame and reference after the motion was taken out: 1 for equal pictures.</param>
/// <param name="ShiftUncertaintyPx">Standard uncertainty of the shift in its less certain direction, in px: from the scatter of the pixels, and from that of the shifts of the
/// ruler's parts, which a codec moves against each other and together.</param>
/// <param name="Followed">Whether the ruler was recognised; if not, the numbers are those of the last frame in which it was.</param>
public readonly record struct RulerMotion(
    PicturePoint Centre, double ShiftUPx, double ShiftVPx, double UU, double UV, double VU, double VV,
    double Gain, double Correlation, double ShiftUncertaintyPx, bool Followed)
{
    /// <summary>Where a point of the reference picture lies in the frame.</summary>
    public PicturePoint ToFrame(PicturePoint reference)
    {
        double du = reference.UPx - Centre.UPx, dv = reference.VPx - Centre.VPx;
        return new PicturePoint(reference.UPx + ShiftUPx + UU * du + UV * dv, reference.VPx + ShiftVPx + VU * du + VV * dv);
    }

    /// <summary>Where a point of the frame lies in the reference picture, to which the scale belongs.</summary>
    public PicturePoint ToReference(PicturePoint frame)
    {
        double du = frame.UPx - Centre.UPx - ShiftUPx, dv = frame.VPx - Centre.VPx - ShiftVPx;
        double a = 1 + UU, d = 1 + VV, determinant = a * d - UV * VU;
        return new PicturePoint(Centre.UPx + (d * du - UV * dv) / determinant, Centre.VPx + (a * dv - VU * du) / determinant);
    }
}
