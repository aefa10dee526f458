using OpenCvSharp;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Clips;

/// <summary>Pictures of a clip on which ruler marks are set.</summary>
/// <param name="Jpeg">The picture to show: of a still clip the usual picture with the brightest light of all sampled frames laid over it, so
/// that ruler and streak are both visible; of a clip in which the camera moves the first frame, to which its marks belong.</param>
/// <param name="Ruler">The ruler without the streak, as far as frames without it allow; where the camera moves, the first frame.</param>
/// <param name="Brightest">Brightness of <paramref name="Jpeg"/>: in a dark room ticks may be visible only in the streak's own light.</param>
/// <param name="CameraMoves">Whether the picture moves by more than a pixel over the clip.</param>
public sealed record StillPictures(byte[] Jpeg, RulerPicture Ruler, RulerPicture Brightest, bool CameraMoves)
{
    /// <summary>Pictures larger than this are sampled less often, to bound the memory.</summary>
    private const int LargePixels = 4_000_000;

    /// <summary>The picture is taken for moving from this shift on, in px. Below, a composite is at least as sharp as a hand is steady.</summary>
    private const double MovingPx = 1;

    /// <summary>Light above the usual one, of 255, from which the brightest frame begins to show, and from which it shows alone.</summary>
    private const int BlendFrom = 14, BlendTo = 44;

    /// <summary>Makes the pictures.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="reader">Which reader to use.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="Core.UnusableInputException">The clip cannot be decoded.</exception>
    /// <exception cref="MissingComponentException">The machine lacks what decoding needs.</exception>
    public static StillPictures Of(ClipFacts facts, ReaderChoice reader, CancellationToken cancellationToken)
    {
        int count = facts.Orientation.CodedWidth * facts.Orientation.CodedHeight > LargePixels ? 6 : 12;
        FrameSample sample = ClipFile.SampleFrames(facts, count, null, reader, cancellationToken);
        IReadOnlyList<RawFrame> frames = sample.Frames;
        if (frames.Count == 0)
            throw new Core.UnusableInputException(facts.Path, "no picture could be decoded", "Hand in the camera's original file.");
        Mat[] pictures = [.. frames.Select(f => DisplayPicture.ToBgr(f, sample.Colour, facts.Orientation, int.MaxValue))];
        try
        {
            cancellationToken.ThrowIfCancellationRequested();
            bool moves = Moves(pictures);
            return Compose(moves ? pictures[..1] : pictures, moves, cancellationToken);
        }
        finally
        {
            foreach (Mat picture in pictures)
                picture.Dispose();
        }
    }

    private static bool Moves(Mat[] pictures)
    {
        if (pictures.Length < 2)
            return false;
        double scale = Math.Min(1, 960.0 / Math.Max(pictures[0].Width, pictures[0].Height));
        Mat[] small = [.. pictures.Select(p => SmallGrey(p, scale))];
        try
        {
            using var window = new Mat();
            Cv2.CreateHanningWindow(window, small[0].Size(), MatType.CV_32FC1);
            double[] shifts =
            [
                .. small.Skip(1).Select(picture =>
                {
                    Point2d shift = Cv2.PhaseCorrelate(small[0], picture, window, out _);
                    return Math.Sqrt((shift.X * shift.X) + (shift.Y * shift.Y)) / scale;
                }).Order(),
            ];

            // One frame out of line may be a person walking by.
            return shifts[Math.Max(0, shifts.Length - 2)] > MovingPx;
        }
        finally
        {
            foreach (Mat picture in small)
                picture.Dispose();
        }
    }

    private static Mat SmallGrey(Mat picture, double scale)
    {
        using var grey = new Mat();
        using var small = new Mat();
        Cv2.CvtColor(picture, grey, ColorConversionCodes.BGR2GRAY);
        Cv2.Resize(grey, small, new Size(), scale, scale, InterpolationFlags.Area);
        var result = new Mat();
        small.ConvertTo(result, MatType.CV_32FC1);
        return result;
    }

    private static unsafe StillPictures Compose(Mat[] pictures, bool moves, CancellationToken cancellationToken)
    {
        int width = pictures[0].Width, height = pictures[0].Height, count = pictures.Length, cut = count / 4;
        float[] usual = new float[width * height], brightest = new float[width * height];
        using var shown = new Mat(height, width, MatType.CV_8UC3);
        nint[] starts = [.. pictures.Select(p => p.Data)];
        long[] steps = [.. pictures.Select(p => p.Step())];
        nint shownStart = shown.Data;
        long shownStep = shown.Step();
        Parallel.For(0, height, new ParallelOptions { CancellationToken = cancellationToken }, v =>
        {
            Span<int> luma = stackalloc int[count];
            Span<int> order = stackalloc int[count];
            byte* target = (byte*)(shownStart + (nint)(v * shownStep));
            for (int u = 0; u < width; u++)
            {
                // Sorted by insertion: there are a dozen values at most.
                for (int k = 0; k < count; k++)
                {
                    byte* p = (byte*)(starts[k] + (nint)((v * steps[k]) + (3 * u)));
                    int value = (29 * p[0]) + (150 * p[1]) + (77 * p[2]), at = k;
                    for (; at > 0 && luma[at - 1] > value; at--)
                        (luma[at], order[at]) = (luma[at - 1], order[at - 1]);
                    (luma[at], order[at]) = (value, k);
                }

                int sum = 0, blue = 0, green = 0, red = 0, used = count - (2 * cut);
                for (int k = cut; k < count - cut; k++)
                {
                    byte* p = (byte*)(starts[order[k]] + (nint)((v * steps[order[k]]) + (3 * u)));
                    (sum, blue, green, red) = (sum + luma[k], blue + p[0], green + p[1], red + p[2]);
                }

                float mean = sum / (256f * used), top = luma[count - 1] / 256f;
                float share = Math.Clamp((top - mean - BlendFrom) / (BlendTo - BlendFrom), 0, 1);
                byte* best = (byte*)(starts[order[count - 1]] + (nint)((v * steps[order[count - 1]]) + (3 * u)));
                target[(3 * u) + 0] = (byte)((((1 - share) * blue) / used) + (share * best[0]) + 0.5f);
                target[(3 * u) + 1] = (byte)((((1 - share) * green) / used) + (share * best[1]) + 0.5f);
                target[(3 * u) + 2] = (byte)((((1 - share) * red) / used) + (share * best[2]) + 0.5f);
                usual[(v * width) + u] = mean;
                brightest[(v * width) + u] = mean + (share * (top - mean));
            }
        });
        return new StillPictures(
            DisplayPicture.Jpeg(shown, 93), new RulerPicture(usual, width, height), new RulerPicture(brightest, width, height), moves);
    }
}
