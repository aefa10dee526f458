using System.Numerics;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Core.Series;

namespace StreakTrack.Reporting.Contact;

/// <summary>One frame of the contact sheet: the strip in which the streak was looked for, and what was found there.</summary>
/// <param name="Reading">What was measured in the frame.</param>
/// <param name="Picture">The strip of the frame, for the eye; it is only read.</param>
/// <param name="DisplayToPicture">Takes points of the displayed picture (u, v) to pixels of <paramref name="Picture"/> (x, y); in both,
/// whole
/// numbers are pixel centres and (0, 0) is the centre of the top left pixel.</param>
public sealed record ContactPicture(StreakReading Reading, Image<Rgb24> Picture, Matrix3x2 DisplayToPicture);
