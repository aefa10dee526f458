namespace StreakTrack.Synthesis.Rendering;

/// <summary>When and how one frame is taken.</summary>
/// <param name="TimeSeconds">Start of the exposure of the first row; also the frame's time in the clip.</param>
/// <param name="ExposureSeconds">Exposure time of each row.</param>
/// <param name="Gain">Amplification beside that of the clip's start.</param>
/// <param name="ShiftUPx">How far the picture has moved to the right since the first frame, in px of the stored picture.</param>
/// <param name="ShiftVPx">How far the picture has moved downward since the first frame, in px of the stored picture.</param>
/// <param name="Picture">Number of the frame whose picture is shown: its own, or that of an earlier one where a picture is
/// repeated.</param>
public readonly record struct FrameExposure(
    double TimeSeconds, double ExposureSeconds, double Gain, double ShiftUPx, double ShiftVPx, int Picture);
