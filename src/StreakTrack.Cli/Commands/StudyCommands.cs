using System.CommandLine;
using System.Globalization;
using System.Security.Cryptography;
using System.Text.Json;
using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Studies;
using StreakTrack.Core.Tables;
using StreakTrack.Core.Uncertainty;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Reporting;
using StreakTrack.Reporting.Studies;

namespace StreakTrack.Cli.Commands;

/// <summary><c>streaktrack resonance</c>, <c>stiffness</c> and <c>damping</c>: studies over several measurements, from a table of results.</summary>
internal static class StudyCommands
{
    /// <summary>Response against drive frequency.</summary>
    public static Command Resonance(CommandStreams streams)
    {
        Option<double?> tau = SettingOptions.Number("--tau", "S", "Decay time from a ring-down, to hold Q from the width against.", 0);
        Option<double?> tauUncertainty = SettingOptions.Number("--tau-u", "S", "Its standard uncertainty.", 0, allowMinimum: true);
        var background = new Option<ResponseBackground>("--background")
        {
            Description = "What lies under the curve. Default: none.",
            HelpName = "none|constant|linear",
            DefaultValueFactory = _ => ResponseBackground.None,
        };
        Command command = Create("resonance", "Fit a resonance curve: amplitude against drive frequency.",
            "columns frequency_hz and amplitude_mm (or amplitude_mrad, amplitude, power), and amplitude_u_mm where known", streams,
            (parsed, table, source, cancellationToken) =>
            {
                IReadOnlyList<ResonancePoint> points = ResonanceStudies.PointsFrom(table, out ResonanceOptions options);
                options = options with
                {
                    Background = parsed.GetValue(background),
                    TauSeconds = parsed.GetValue(tau) is double seconds ? new UncertainValue(seconds, parsed.GetValue(tauUncertainty) ?? 0) : null,
                };
                return ResonanceReport.Of(ResonanceStudies.Run(points, options, table.Subject, cancellationToken), options, source);
            });
        command.Options.Add(tau);
        command.Options.Add(tauUncertainty);
        command.Options.Add(background);
        ExampleHelp.AddTo(command, "streaktrack resonance sweep.csv --out result", "streaktrack resonance sweep.csv --out result --tau 2.403 --tau-u 0.010");
        return command;
    }

    /// <summary>Square of the resonance frequency against a coil current.</summary>
    public static Command Stiffness(CommandStreams streams)
    {
        Command command = Create("stiffness", "Fit f0 squared against a coil current by a straight line with errors in both variables.",
            "columns current_a and frequency_hz, and current_u_a and frequency_u_hz where known", streams,
            (_, table, source, _) => StiffnessReport.Of(StiffnessStudies.Run(StiffnessStudies.PointsFrom(table), subject: table.Subject), source));
        ExampleHelp.AddTo(command, "streaktrack stiffness coil.csv --out result");
        return command;
    }

    /// <summary>Damping against a setting.</summary>
    public static Command Damping(CommandStreams streams)
    {
        Command command = Create("damping", "Compare decay times at several settings, with the scatter between runs.",
            "columns setting (or setting_UNIT) and tau_s, and tau_u_s and frequency_hz where known", streams,
            (_, table, source, cancellationToken) =>
            {
                IReadOnlyList<DampingRun> runs = DampingStudies.RunsFrom(table, out string name);
                return DampingReport.Of(
                    DampingStudies.Run(runs, new DampingOptions { SettingName = name }, table.Subject, cancellationToken), source);
            });
        ExampleHelp.AddTo(command, "streaktrack damping brake.csv --out result");
        return command;
    }

    private static Command Create(string name, string description, string columns, CommandStreams streams,
        Func<ParseResult, CsvTable, StudySource, CancellationToken, StudyReport> study)
    {
        var file = new Argument<FileInfo>("TABLE.csv") { Description = $"The table: {columns}." };
        var folder = new Option<DirectoryInfo>("--out") { Description = "Folder for report.html and figures.", HelpName = "DIR", Required = true };
        var json = new Option<bool>("--json") { Description = "Print the results as JSON on standard output instead of the summary." };
        var command = new Command(name, description) { file, folder, json };
        command.SetAction((parsed, cancellationToken) => Task.Run(() =>
        {
            FileInfo table = parsed.GetRequiredValue(file);
            CsvTable rows = CsvTable.Read(table.FullName);
            string hash = Convert.ToHexStringLower(SHA256.HashData(File.ReadAllBytes(table.FullName)));
            StudyReport report = study(parsed, rows, new StudySource(table.Name, hash, ClipAnalyzer.ProgramOf(null)), cancellationToken);
            string place = parsed.GetRequiredValue(folder).FullName;
            StudyFolder.Write(report, place);
            if (parsed.GetValue(json))
                WriteJson(report, streams.Output);
            else
                WriteSummary(report, Path.Combine(place, ReportFolder.ReportFile), streams.Output);
            return ExitCode.Done;
        }, cancellationToken));
        return command;
    }

    private static void WriteSummary(StudyReport report, string reportPath, TextWriter output)
    {
        output.WriteLine($"{report.Source.TableFile}: {report.Statement}");
        foreach (StudyQuantity quantity in report.Quantities)
            output.WriteLine($"  {quantity.Label,-48} {Notation.Concise(quantity.Value, quantity.Unit)}");
        foreach (Finding finding in report.Findings)
            output.WriteLine($"{finding.Severity.ToString().ToLowerInvariant()} {finding.Code}: {finding.Message}");
        output.WriteLine("report: " + reportPath);
    }

    private static void WriteJson(StudyReport report, TextWriter output)
    {
        using var buffer = new MemoryStream();
        using (var writer = new Utf8JsonWriter(buffer, new JsonWriterOptions { Indented = true, NewLine = "\n" }))
        {
            writer.WriteStartObject();
            writer.WriteString("table", report.Source.TableFile);
            writer.WriteString("table_sha256", report.Source.TableSha256);
            writer.WriteString("statement", report.Statement);
            writer.WriteStartArray("quantities");
            foreach (StudyQuantity quantity in report.Quantities)
            {
                writer.WriteStartObject();
                writer.WriteString("quantity", quantity.Label);
                writer.WriteString("unit", quantity.Unit);
                WriteNumber(writer, "value", quantity.Value.Value);
                WriteNumber(writer, "standard_uncertainty", quantity.Value.StandardUncertainty);
                writer.WriteEndObject();
            }

            writer.WriteEndArray();
            writer.WriteStartArray("findings");
            foreach (Finding finding in report.Findings)
            {
                writer.WriteStartObject();
                writer.WriteString("code", finding.Code);
                writer.WriteString("severity", finding.Severity.ToString().ToLower(CultureInfo.InvariantCulture));
                writer.WriteString("message", finding.Message);
                writer.WriteString("advice", finding.Advice);
                writer.WriteEndObject();
            }

            writer.WriteEndArray();
            writer.WriteEndObject();
        }

        output.WriteLine(System.Text.Encoding.UTF8.GetString(buffer.ToArray()));
    }

    private static void WriteNumber(Utf8JsonWriter writer, string name, double value)
    {
        if (double.IsFinite(value))
            writer.WriteNumber(name, value);
        else
            writer.WriteNull(name);
    }
}
