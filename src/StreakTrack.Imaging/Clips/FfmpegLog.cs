using System.Buffers.Text;
using System.Collections.Concurrent;
using System.Text;

namespace StreakTrack.Imaging.Clips;

/// <summary>Reads the log that the ffmpeg program writes beside the pictures: times, picture format, complaints.</summary>
/// <remarks>Reads on a thread of its own, because a program whose log nobody reads stops. Works on bytes and makes nothing for each frame.</remarks>
internal sealed class FfmpegLog : IDisposable
{
    private const int MaxLineBytes = 4096;
    private const int MaxKeptComplaintCharacters = 200;

    private readonly Stream _stream;
    private readonly Thread _thread;
    private readonly BlockingCollection<long> _ticks = [];
    private string? _pixelFormat;
    private string? _firstComplaint;
    private double _secondsPerTick = double.NaN;
    private int _complaints;
    private int _graphs;

    /// <summary>Starts reading.</summary>
    public FfmpegLog(Stream stream)
    {
        _stream = stream;
        _thread = new Thread(ReadAll) { IsBackground = true, Name = "ffmpeg log" };
        _thread.Start();
    }

    /// <summary>Format of the pictures delivered; known once the first time is.</summary>
    public string? PixelFormat => Volatile.Read(ref _pixelFormat);

    /// <summary>Length of a tick, in s; known once the first time is.</summary>
    public double SecondsPerTick => Volatile.Read(ref _secondsPerTick);

    /// <summary>How often the program set up its filters: more than once when the pictures change their size or format.</summary>
    public int Graphs => Volatile.Read(ref _graphs);

    /// <summary>Number of error messages.</summary>
    public int Complaints => Volatile.Read(ref _complaints);

    /// <summary>The first error message, shortened; null when there is none.</summary>
    public string? FirstComplaint => Volatile.Read(ref _firstComplaint);

    /// <summary>Waits for the time of the next frame; false when there is none, or the next frame has none.</summary>
    public bool TryTakeTicks(out long ticks) => _ticks.TryTake(out ticks, Timeout.Infinite);

    /// <summary>Waits until the log has ended.</summary>
    public void Finish() => _thread.Join();

    /// <inheritdoc/>
    public void Dispose()
    {
        Finish();
        _ticks.Dispose();
    }

    private void ReadAll()
    {
        byte[] buffer = new byte[2 * MaxLineBytes];
        int filled = 0;
        try
        {
            while (true)
            {
                int got = _stream.Read(buffer, filled, buffer.Length - filled);
                if (got == 0)
                    break;
                filled += got;
                int start = 0;
                while (buffer.AsSpan(start, filled - start).IndexOf((byte)'\n') is int length and >= 0)
                {
                    TakeLine(buffer.AsSpan(start, length));
                    start += length + 1;
                }

                // A line too long to be one of those looked for is dropped.
                if (start == 0 && filled > MaxLineBytes)
                    start = filled;
                buffer.AsSpan(start, filled - start).CopyTo(buffer);
                filled -= start;
            }
        }
        catch (IOException)
        {
            // The program was ended; so is its log.
        }
        finally
        {
            _ticks.CompleteAdding();
        }
    }

    private void TakeLine(ReadOnlySpan<byte> line)
    {
        if (line.IndexOf(" pts:"u8) is int at and >= 0 && line.IndexOf(" n:"u8) is int number && number >= 0 && number < at)
            TakeFrame(line, at + " pts:".Length);
        else if (line.IndexOf("config in time_base: "u8) is int config and >= 0)
            TakeTimeBase(line[(config + "config in time_base: ".Length)..]);
        else if (line.IndexOf("[error]"u8) >= 0 || line.IndexOf("[fatal]"u8) >= 0)
            TakeComplaint(line);
    }

    private void TakeFrame(ReadOnlySpan<byte> line, int at)
    {
        if (_ticks.IsAddingCompleted)
            return;
        if (_pixelFormat is null && line.IndexOf(" fmt:"u8) is int format and >= 0)
        {
            ReadOnlySpan<byte> name = line[(format + " fmt:".Length)..];
            int end = name.IndexOf((byte)' ');
            Volatile.Write(ref _pixelFormat, Encoding.ASCII.GetString(end < 0 ? name : name[..end]));
        }

        // Frames without a time show "NOPTS"; they cannot be used, so there the list of times ends.
        if (Utf8Parser.TryParse(line[at..].TrimStart((byte)' '), out long ticks, out _))
            _ticks.Add(ticks);
        else
            _ticks.CompleteAdding();
    }

    private void TakeTimeBase(ReadOnlySpan<byte> fraction)
    {
        Interlocked.Increment(ref _graphs);
        if (Utf8Parser.TryParse(fraction, out long above, out int used) && used < fraction.Length
            && Utf8Parser.TryParse(fraction[(used + 1)..], out long below, out _) && below != 0)
            Volatile.Write(ref _secondsPerTick, above / (double)below);
    }

    private void TakeComplaint(ReadOnlySpan<byte> line)
    {
        if (_firstComplaint is null)
        {
            // The part in brackets names an address in the program's memory, which differs from run to run.
            int text = line.IndexOf("[error] "u8) is int error and >= 0 ? error + 8 : line.IndexOf("[fatal] "u8) + 8;
            string message = Encoding.UTF8.GetString(text >= 8 ? line[text..] : line).Trim();
            Volatile.Write(ref _firstComplaint, message.Length <= MaxKeptComplaintCharacters ? message : message[..MaxKeptComplaintCharacters] + "…");
        }

        Interlocked.Increment(ref _complaints);
    }
}
