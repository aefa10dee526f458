namespace StreakTrack.Benchmarks;

/// <summary>One run of one program on one clip.</summary>
/// <param name="Clip">The clip's name.</param>
/// <param name="What">What ran.</param>
/// <param name="Repetition">The how manieth time, from 0.</param>
/// <param name="Started">When.</param>
/// <param name="Load">Load of the machine in the minute before: programs that ran or wanted to.</param>
/// <param name="Seconds">Wall time, in s.</param>
/// <param name="ProcessorSeconds">Time of all processors, in s.</param>
/// <param name="PeakMegabytes">Largest memory, in MB.</param>
/// <param name="TauSeconds">The decay time found, in s; null where none is looked for.</param>
internal sealed record MeasuredRun(
    string Clip, string What, int Repetition, DateTime Started, double Load, double Seconds, double ProcessorSeconds, double PeakMegabytes,
    double? TauSeconds);
