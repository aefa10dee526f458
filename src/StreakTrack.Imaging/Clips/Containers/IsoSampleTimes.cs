namespace StreakTrack.Imaging.Clips.Containers;

/// <summary>The times of a track's samples, kept as the runs in which the file stores them.</summary>
internal sealed class IsoSampleTimes
{
    // Reordering reaches over no more pictures than a decoder may hold.
    private const int MaxReordered = 64;
    private const long MaxSamples = 5_000_000;

    private readonly List<(long First, long Delta, long Count)> _runs = [];

    /// <summary>Samples in all.</summary>
    public long Count { get; private set; }

    /// <summary>Sum of the samples' durations, in ticks.</summary>
    public long TotalTicks { get; private set; }

    /// <summary>Reads the decoding times and composition offsets together.</summary>
    public static IsoSampleTimes Read(ByteSource source, IsoBox decoding, IsoBox? composition)
    {
        var times = new IsoSampleTimes();
        long entries = EntryCount(source, decoding, out long at);
        long offsets = 0, offsetAt = 0, offsetLeft = 0;
        long offset = 0;
        if (composition is { } box)
            offsets = EntryCount(source, box, out offsetAt);
        for (; entries > 0; entries--, at += 8)
        {
            long left = source.U32(at), delta = source.S32(at + 4);
            while (left > 0)
            {
                if (offsetLeft == 0 && offsets > 0)
                {
                    offsetLeft = source.U32(offsetAt);

                    // Offsets of version 0 are unsigned by the standard, but cameras write negative ones too.
                    offset = source.S32(offsetAt + 4);
                    offsetAt += 8;
                    offsets--;
                    if (offsetLeft == 0)
                        continue;
                }

                long run = offsetLeft > 0 ? Math.Min(left, offsetLeft) : left;
                if (!times.Add(times.TotalTicks + offset, delta, run))
                    return times;
                left -= run;
                offsetLeft -= Math.Min(run, offsetLeft);
                offset = offsetLeft == 0 && offsets == 0 ? 0 : offset;
            }
        }

        return times;
    }

    /// <summary>The earliest presentation time, in ticks.</summary>
    public long EarliestTicks()
    {
        long earliest = long.MaxValue, seen = 0;
        foreach ((long first, _, long count) in _runs)
        {
            earliest = Math.Min(earliest, first);
            seen += count;
            if (seen > MaxReordered)
                break;
        }

        return earliest == long.MaxValue ? 0 : earliest;
    }

    /// <summary>Samples presented at <paramref name="from"/> or later, and before <paramref name="to"/>, in ticks.</summary>
    public long CountWithin(long from, long to)
    {
        long within = 0;
        foreach ((long first, long delta, long count) in _runs)
        {
            if (delta <= 0)
                within += first >= from && first < to ? count : 0;
            else
                within += Math.Clamp(Above(to), 0, count) - Math.Clamp(Above(from), 0, count);

            // The first sample of the run that is not before a limit.
            long Above(long limit) => limit <= first ? 0 : (((limit - first) - 1) / delta) + 1;
        }

        return within;
    }

    /// <summary>Presentation times from <paramref name="from"/> on and before <paramref name="to"/>, in ticks and in order.</summary>
    public long[] Within(long from, long to)
    {
        var within = new List<long>();
        foreach ((long first, long delta, long count) in _runs)
        {
            for (long k = 0; k < count; k++)
            {
                long ticks = first + (k * delta);
                if (ticks >= from && ticks < to)
                    within.Add(ticks);
            }
        }

        within.Sort();
        return [.. within];
    }

    private bool Add(long first, long delta, long count)
    {
        if (Count + count > MaxSamples)
            return false;
        _runs.Add((first, delta, count));
        Count += count;
        TotalTicks += delta * count;
        return true;
    }

    private static long EntryCount(ByteSource source, IsoBox box, out long firstEntry)
    {
        firstEntry = box.Start + 8;
        long fitting = (box.End - firstEntry) / 8;
        return fitting <= 0 ? 0 : Math.Min(source.U32(box.Start + 4), fitting);
    }
}
