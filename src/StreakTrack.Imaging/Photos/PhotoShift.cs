using OpenCvSharp;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Photos;

/// <summary>How far a photograph shows the scene beside the first one, roughly: near enough for the ruler to be followed from there.</summary>
internal sealed class PhotoShift : IDisposable
{
    /// <summary>Longest side of the pictures that are compared, in px.</summary>
    private const int ComparedPx = 960;

    /// <summary>A smaller shift is left to what follows the ruler, in px of the photograph.</summary>
    private const double LeftToFollower = 5;

    /// <summary>Share of the pictures' energy in the peak of their phase correlation below which it tells nothing.</summary>
    private const double LeastResponse = 0.05;

    private readonly int _block;
    private readonly Mat _first, _window = new();

    /// <summary>Takes the first photograph.</summary>
    /// <param name="first">Its pixels.</param>
    /// <param name="orientation">Its size.</param>
    /// <exception cref="MissingComponentException">A library of the system's is missing.</exception>
    public PhotoShift(PhotoPixels first, DisplayOrientation orientation)
    {
        _ = EmbeddedDecoder.Version;   // says what is missing, where the library cannot be loaded
        _block = (Math.Max(orientation.CodedWidth, orientation.CodedHeight) + ComparedPx - 1) / ComparedPx;
        _first = Small(first);
        Cv2.CreateHanningWindow(_window, _first.Size(), MatType.CV_32FC1);
    }

    /// <summary>The shift of another photograph of the same size, in whole px: what the first shows at a point, this one shows at that point plus the
    /// shift.</summary>
    public (int U, int V) Of(PhotoPixels photo)
    {
        using Mat small = Small(photo);
        Point2d shift = Cv2.PhaseCorrelate(_first, small, _window, out double response);
        double u = shift.X * _block, v = shift.Y * _block;
        return response >= LeastResponse && Math.Max(Math.Abs(u), Math.Abs(v)) > LeftToFollower
            ? ((int)Math.Round(u), (int)Math.Round(v))
            : (0, 0);
    }

    public void Dispose()
    {
        _first.Dispose();
        _window.Dispose();
    }

    private Mat Small(PhotoPixels photo)
    {
        float[] samples = photo.Averaged(_block, out int width, out int height);
        using Mat wrapped = Mat.FromPixelData(height, width, MatType.CV_32FC1, samples);
        return wrapped.Clone();
    }
}
