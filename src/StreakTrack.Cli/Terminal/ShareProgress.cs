using StreakTrack.Imaging.Analysis;

namespace StreakTrack.Cli.Terminal;

/// <summary>Shows a share from 0 to 1 on the progress line, in percent.</summary>
internal sealed class ShareProgress(ProgressLine line, string stage) : IProgress<double>
{
    public void Report(double value) => line.Report(new AnalysisProgress(stage, (int)(100 * value), 100));
}
