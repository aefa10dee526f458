using System.Runtime.InteropServices;
using OpenCvSharp;
using StreakTrack.Core;
using StreakTrack.Core.Findings;

namespace StreakTrack.Imaging.Clips;

/// <summary>Reads frames with the decoder inside the OpenCV package.</summary>
/// <remarks>
/// It delivers blue, green and red samples of 8 bits, always decoded as BT.601; <see cref="Colour"/> says what they should have been, and
/// <see cref="LinearLight"/> puts it right, save for colours that left the range of 8 bits on the way.
/// </remarks>
internal sealed class EmbeddedFrameReader : IFrameReader
{
    // A damaged stretch fails read by read, and the pictures behind it come afterwards; so one failure is not the end.
    private const int FailuresAtEnd = 64;

    private readonly ClipFacts _facts;
    private readonly VideoCapture _capture;
    private readonly Mat _picture;
    private readonly PixelRegion _region;

    private readonly double _fromSeconds;
    private int _grabbed;

    /// <summary>Opens a clip.</summary>
    /// <param name="facts">The clip.</param>
    /// <param name="options">What to deliver.</param>
    /// <param name="fromSeconds">Where to begin, in s; frames before it are not delivered. By default at the first frame.</param>
    /// <exception cref="MissingComponentException">A library of the system's is missing.</exception>
    /// <exception cref="UnusableInputException">The decoder does not take the file.</exception>
    public EmbeddedFrameReader(ClipFacts facts, FrameReaderOptions options, double fromSeconds = double.NegativeInfinity)
    {
        // Comes before any other use of the library: it says what is missing.
        Name = "embedded, OpenCV " + EmbeddedDecoder.Version;
        _picture = new Mat();
        _facts = facts;
        _region = RegionAlignment.WholeColourSamples(options.Region, facts.Orientation);
        _capture = new VideoCapture(facts.Path, VideoCaptureAPIs.FFMPEG);
        if (!_capture.IsOpened())
        {
            Dispose();
            throw Unusable($"the embedded decoder does not take it ({facts.Container}, {facts.Codec})");
        }

        _capture.Set(VideoCaptureProperties.OrientationAuto, 0);

        _fromSeconds = fromSeconds;
        if (fromSeconds > facts.StartSeconds)
            Seek(fromSeconds);

        // For this layout the range means one that the decoder overlooked: it does so above 8 bits only.
        Colour = facts.Colour with { FullRange = facts.Colour.FullRange && facts.BitDepth > 8 };
        Findings = facts.BitDepth > 8
            ? [FindingKinds.ReducedPictures.With($"The clip holds {facts.BitDepth} bits a sample; the embedded decoder delivers 8.")]
            : [];
    }

    /// <inheritdoc/>
    public string Name { get; }

    /// <inheritdoc/>
    public ColourDescription Colour { get; }

    /// <inheritdoc/>
    public int LostFrames { get; private set; }

    /// <inheritdoc/>
    public IReadOnlyList<Finding> Findings { get; }

    /// <inheritdoc/>
    public bool TryRead(RawFrame frame)
    {
        while (TryGrab() is { } timeSeconds)
        {
            if (timeSeconds < _fromSeconds)
                continue;
            Retrieve(frame, timeSeconds);
            return true;
        }

        return false;
    }

    /// <summary>Decodes the next frame without delivering it; gives its time, in s, or null after the last one.</summary>
    public double? TryGrab()
    {
        for (int failures = 0; failures < FailuresAtEnd; failures++)
        {
            if (_capture.Grab())
            {
                _grabbed++;
                // The property of that name in the wrapper cuts to whole milliseconds.
                return (_capture.Get(VideoCaptureProperties.PosMsec) / 1000) + _facts.StartSeconds;
            }

            if (_grabbed >= _facts.AnnouncedFrames)
                break;
        }

        if (_grabbed == 0)
            throw Unusable($"the embedded decoder cannot decode it ({_facts.Codec})");
        LostFrames = Math.Max(0, (_facts.AnnouncedFrames ?? 0) - _grabbed);
        return null;
    }

    /// <summary>Goes to a frame near a time; the next one decoded tells which it was.</summary>
    public void Seek(double timeSeconds) => _capture.Set(VideoCaptureProperties.PosMsec, 1000 * (timeSeconds - _facts.StartSeconds));

    /// <summary>Delivers the frame decoded last.</summary>
    public void Retrieve(RawFrame frame, double timeSeconds)
    {
        if (!_capture.Retrieve(_picture) || _picture.Empty())
            throw Unusable("the embedded decoder lost a picture that it had decoded");
        if (_picture.Width != _facts.Orientation.CodedWidth || _picture.Height != _facts.Orientation.CodedHeight
            || _picture.Type() != MatType.CV_8UC3)
        {
            throw Unusable("the picture changes its size or format within the clip");
        }

        frame.Shape(_region, PlaneLayout.Bgr24, 8);
        int rowBytes = 3 * _region.Width;
        for (int y = 0; y < _region.Height; y++)
            Marshal.Copy(_picture.Ptr(_region.Y + y) + (3 * _region.X), frame.Plane0, y * rowBytes, rowBytes);
        frame.Index = _grabbed - 1;
        frame.TimeSeconds = timeSeconds;
    }

    public void Dispose()
    {
        _picture.Dispose();
        _capture.Dispose();
    }

    private UnusableInputException Unusable(string problem) =>
        new(_facts.Path, problem, "Install ffmpeg (on Debian and Ubuntu: sudo apt-get install ffmpeg), or hand in the camera's original file.");
}
