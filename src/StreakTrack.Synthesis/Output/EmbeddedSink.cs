using OpenCvSharp;
using StreakTrack.Imaging.Clips;
using StreakTrack.Synthesis.Rendering;

namespace StreakTrack.Synthesis.Output;

/// <summary>Encodes with the FFmpeg library inside the OpenCV package.</summary>
/// <remarks>
/// Of what that build can write (no H.264), JPEG frames in a QuickTime file keep exact frame times, say themselves how colour is coded, and
/// let no frame depend on another. OpenCV has no way to state a frame's time, so that the rate must be constant.
/// </remarks>
internal sealed class EmbeddedSink : IFrameSink
{
    private readonly VideoWriter _writer;
    private readonly string _path, _version;
    private readonly int _width, _height;

    public EmbeddedSink(ClipRenderer renderer, string path)
    {
        double rate = renderer.Scenario.Camera.FramesPerSecond;
        for (int k = 0; k < renderer.Frames.Count; k++)
        {
            if (!(Math.Abs(renderer.Frames[k].TimeSeconds - k / rate) < 1.0 / FrameSchedule.TicksPerSecond))
            {
                throw new MissingComponentException(
                    "a clip with a variable frame rate needs the ffmpeg program, which is not installed or was not chosen",
                    "Install it (on Debian and Ubuntu: sudo apt-get install ffmpeg), or choose a constant frame rate.");
            }
        }

        // Asking for the version names the missing system library where there is one.
        _version = EmbeddedDecoder.Version;
        _path = path;
        _width = renderer.Scenario.Camera.WidthPx;
        _height = renderer.Scenario.Camera.HeightPx;
        _writer = new VideoWriter(path, VideoCaptureAPIs.FFMPEG, FourCC.FromString("jpeg"), rate, new Size(_width, _height));
        if (!_writer.IsOpened())
        {
            _writer.Dispose();
            throw new IOException($"{path}: the embedded encoder could not create the file.");
        }
    }

    public string Name => $"embedded {_version}, JPEG frames";

    public void Write(byte[] bgr, double timeSeconds)
    {
        using Mat picture = Mat.FromPixelData(_height, _width, MatType.CV_8UC3, bgr);
        _writer.Write(picture);
    }

    public void Finish()
    {
        _writer.Release();
        if (new FileInfo(_path) is not { Exists: true, Length: > 0 })
            throw new IOException($"{_path}: the embedded encoder wrote nothing. Is the disk full?");
    }

    public void Dispose() => _writer.Dispose();
}
