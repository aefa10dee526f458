using System.CommandLine;
using System.Globalization;
using StreakTrack.Cli.Terminal;
using StreakTrack.Core;
using StreakTrack.Core.Records;
using StreakTrack.Core.Uncertainty;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Reporting;
using StreakTrack.Synthesis.Output;
using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Cli.Commands;

/// <summary><c>streaktrack demo</c>: the whole job on two clips made on the spot, found against true.</summary>
internal static class DemoCommand
{
    /// <summary>A result is held to be right when it lies within this many standard uncertainties of the truth, or within
    /// <see cref="RelativeTolerance"/> of it: a demonstration with a fixed seed can be a two-sigma case, but not a five-sigma one.</summary>
    private const double ToleranceInUncertainties = 3, RelativeTolerance = 0.005;

    /// <summary>The command.</summary>
    public static Command Create(CommandStreams streams)
    {
        var folder = new Option<DirectoryInfo>("--out")
        {
            Description = "Folder for the clips and reports.",
            HelpName = "DIR",
            DefaultValueFactory = _ => new DirectoryInfo("streaktrack-demo"),
        };
        var command = new Command("demo", "Make two clips with known truth, a decay and a rise, analyse them and compare found with true.") { folder };
        command.SetAction((parsed, cancellationToken) =>
            Task.Run(() => Run(parsed.GetRequiredValue(folder).FullName, streams, cancellationToken), cancellationToken));
        ExampleHelp.AddTo(command, "streaktrack demo", "streaktrack demo --out somewhere");
        return command;
    }

    private static int Run(string folder, CommandStreams streams, CancellationToken cancellationToken)
    {
        streams.Output.WriteLine($"{"clip",-12} {"model",-12} {"tau found / s",-16} {"tau true / s",-14} {"difference",-12} report");
        bool allRight = true;
        foreach (ClipScenario scenario in new[] { DemoScenarios.Decay, DemoScenarios.Rise })
        {
            cancellationToken.ThrowIfCancellationRequested();
            string place = Path.Combine(folder, scenario.Name);
            SimulatedClip clip;
            ClipAnalysis analysis;
            var options = new AnalysisOptions
            {
                FrequencyHz = scenario.Motion.FrequencyHz,
                DistanceMm = scenario.Lever.DistanceMm,
                DistanceUncertaintyMm = 2,
            };
            using (var progress = new ProgressLine(streams))
            {
                var rendering = new ShareProgress(progress, $"rendering {scenario.Name}: percent");
                clip = SimulatedClip.Write(scenario, place, progress: rendering, cancellation: cancellationToken);
                analysis = ClipAnalyzer.Analyze(clip.ClipPath, clip.Marks, options, progress, cancellationToken);
                AnalysisReport.Write(analysis.Record, analysis.Series, analysis.SeriesAnalysis, AnalysisReport.PicturesOf(analysis), Path.Combine(place, "result"));
            }

            double truth = scenario.Motion.TauSeconds;
            string report = Path.Combine(place, "result", ReportFolder.ReportFile);
            if (analysis.Record.Result.Fit is not FitRecord fit || !fit.Parameters.TryGetValue("tau_s", out ParameterRecord? tau))
            {
                allRight = false;
                streams.Output.WriteLine($"{scenario.Name,-12} {"none",-12} {"-",-16} {truth.ToString(CultureInfo.InvariantCulture),-14} {"-",-12} {report}");
                continue;
            }

            double u = tau.StandardUncertainty ?? double.NaN;
            double difference = tau.Value - truth;
            allRight &= Math.Abs(difference) <= Math.Max(ToleranceInUncertainties * u, RelativeTolerance * truth);
            string found = Notation.Concise(new UncertainValue(tau.Value, u));
            streams.Output.WriteLine(string.Create(CultureInfo.InvariantCulture,
                $"{scenario.Name,-12} {fit.Model,-12} {found,-16} {truth,-14} {100 * difference / truth,-12:+0.00' %';-0.00' %'} {report}"));
        }

        if (!allRight)
            streams.Error.WriteLine("streaktrack: a result lies farther from the truth than its uncertainty allows; see the reports.");
        return allRight ? ExitCode.Done : ExitCode.CheckFailed;
    }
}
