using StreakTrack.Core;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Streaks;
using StreakTrack.Reporting.Pages;
using StreakTrack.Worksheet.Desk;

namespace StreakTrack.Worksheet.Serving;

/// <summary>The notebook as the page gets it.</summary>
internal static class NotebookView
{
    /// <summary>Ticks drawn over the picture at most; a ruler of a metre has a thousand.</summary>
    private const int MostTicks = 2000;

    /// <summary>Everything but the series.</summary>
    public static object Of(Desk.Desk desk)
    {
        if (desk.Open is not Notebook notebook)
            return new { Clip = (object?)null, desk.Options.MaxUploadBytes, desk.Options.WorkFolder };
        NotebookState state = notebook.State;
        return new
        {
            desk.Options.MaxUploadBytes,
            desk.Options.WorkFolder,
            state.Version,
            state.Revision,
            Clip = Clip(notebook),
            state.Marks,
            state.Options,
            Models = EnvelopeModels.Names.Select(name => new { Name = name, Wording.Model(name).Label }),
            Ruler = Ruler(state, notebook.Facts),
            Streak = Streak(notebook, state),
            Fit = state.Analysis is ClipAnalysis analysis ? FitView.Of(analysis.Record.Result) : null,
            state.AnalysisProblem,
            state.IsSettling,
            Findings = state.Analysis?.Record.Result.Findings ?? [],
            state.SavingProblem,
            Reported = state.ReportedVersion == state.Version,
            Folder = notebook.FolderPath,
        };
    }

    /// <summary>The series, column by column.</summary>
    public static object Series(NotebookState state)
    {
        AmplitudeSeries series = state.Series ?? new AmplitudeSeries([]);
        return new
        {
            state.Version,
            state.Revision,
            Frame = series.Select(s => s.Frame),
            TimeS = series.Select(s => s.TimeSeconds),
            AmplitudeMm = series.Select(s => s.AmplitudeMm),
            UncertaintyMm = series.Select(s => s.AmplitudeUncertaintyMm),
            Flags = series.Select(s => (int)s.Flags),
            Words = series.Select(s => s.Flags).Distinct().ToDictionary(f => ((int)f).ToString(System.Globalization.CultureInfo.InvariantCulture),
                FlagWording.List),
            Usable = series.Select(s => s.IsUsable),
            Fit = (state.QuickFit ?? state.Analysis?.SeriesAnalysis.Fit) is EnvelopeFit fit ? FitView.CurveOf(fit, series.Count) : null,
            state.IsSettling,
        };
    }

    /// <summary>The profile of a frame.</summary>
    public static object Profile(FrameProfile profile, RulerScale? scale, FrameFlags flags)
    {
        StreakReading reading = profile.Reading;
        return new
        {
            reading.Frame,
            TimeS = reading.TimeSeconds,
            Flags = (int)flags,
            FlagWords = FlagWording.List(flags),
            Light = profile.Light.Select(Level),
            Model = profile.Model.Select(Level),
            Threshold = new { FirstPx = profile.ThresholdFirstPx, SecondPx = profile.ThresholdSecondPx,
                FirstLevel = profile.ThresholdFirstLevel, SecondLevel = profile.ThresholdSecondLevel },
            Ends = new { FirstPx = profile.FirstEndPx, SecondPx = profile.SecondEndPx },
            EndsMm = scale is not null && reading is { FirstEnd: { } first, SecondEnd: { } second }
                ? new[] { scale.ReadingMmAt(first), scale.ReadingMmAt(second) }
                : null,
            Band = profile.BandCorners.Select(Pair),
            ShownEnds = profile.ShownEnds.Select(Pair),
        };
    }

    // Six decimals are far below the noise; where the band leaves the picture there is no light, which becomes null.
    private static double Level(float light) => Math.Round((double)light, 6);

    private static double[] Pair(PicturePoint point) => [point.UPx, point.VPx];

    private static object Clip(Notebook notebook)
    {
        ClipFacts facts = notebook.Facts;
        int frames = notebook.Shelf.Count;
        return new
        {
            notebook.Name,
            notebook.Sha256,
            facts.Bytes,
            facts.Container,
            facts.Codec,
            facts.PixelFormat,
            facts.BitDepth,
            WidthPx = facts.Orientation.DisplayWidth,
            HeightPx = facts.Orientation.DisplayHeight,
            facts.AnnouncedFrames,
            DurationS = facts.DurationSeconds,
            StartS = facts.StartSeconds,
            facts.Findings,
            Frames = new { Count = frames, Complete = notebook.Shelf.IsComplete, notebook.Shelf.Problem },
        };
    }

    private static object Ruler(NotebookState state, ClipFacts facts)
    {
        if (state.Scale is not RulerScale marked)
            return new { state.ScaleProblem };

        // The scale of the results, where there are any: ticks of the ruler may have made it better than the marks alone.
        ClipAnalysis? settled = state.IsSettling ? null : state.Analysis;
        RulerScale scale = settled?.Scale ?? marked;
        ScaleRecord record = settled?.Record.Result.Scale ?? ResultRecords.Of(scale, ClipAnalyzer.MarksOf(state.Marks));
        return new
        {
            ScaleProblem = (string?)null,
            record.Model,
            record.MmPerPx,
            record.ResidualRmsMm,
            record.RelativeUncertainty,
            Marks = marked.Residuals.Zip(record.ResidualsMm, (r, residualMm) => new
            {
                ResidualPx = residualMm / record.MmPerPx, ResidualMm = residualMm, r.PredictedReadingMm, r.Doubtful, r.OffAxisPx,
            }),
            Ticks = Ticks(scale, facts),
            Found = record.Ticks is TicksRecord ticks ? new { ticks.StepMm, ticks.ResidualRmsMm, ticks.Used.Count } : null,
            marked.Findings,
            MinMm = scale.MinReadingMm,
            MaxMm = scale.MaxReadingMm,
        };
    }

    // Where the scale has each millimetre, as far as the picture goes: reading, place, direction of the tick.
    private static List<double[]> Ticks(RulerScale scale, ClipFacts facts)
    {
        var ticks = new List<double[]>();
        double width = facts.Orientation.DisplayWidth, height = facts.Orientation.DisplayHeight;
        double middle = Math.Round(scale.MiddleReadingMm);
        foreach (int direction in new[] { -1, 1 })
        {
            for (double mm = direction < 0 ? middle : middle + 1; ticks.Count < MostTicks; mm += direction)
            {
                PicturePoint point = scale.PointAt(mm);
                if (!(point.UPx >= 0 && point.UPx < width && point.VPx >= 0 && point.VPx < height))
                    break;
                (double du, double dv) = scale.TickDirectionAt(point);
                ticks.Add([mm, Math.Round(point.UPx, 2), Math.Round(point.VPx, 2), Math.Round(du, 4), Math.Round(dv, 4)]);
            }
        }

        return ticks;
    }

    private static object Streak(Notebook notebook, NotebookState state)
    {
        StreakMeasurement? measurement = state.Measured?.Study.Measurement;
        MeasuringRun? run = state.Run;
        return new
        {
            Measuring = run is null ? null : new { run.Progress.Stage, run.Progress.Done, run.Progress.Total },
            state.MeasuringProblem,
            Outdated = state.MeasuredIsOutdated,
            SearchBand = state.Scale is RulerScale scale ? SearchBand(notebook.Facts, scale, state) : null,
            Measured = measurement is null ? null : new
            {
                Frames = measurement.Readings.Count,
                Usable = state.Series?.UsableCount,
                measurement.Channel,
                measurement.SpotSigmaPx,
                measurement.ExposurePeriods,
                measurement.BandOffsetPx,
                BandWidthPx = measurement.Band.WidthPx,
                Band = Corners(measurement.Band),
                measurement.LostFrames,
                measurement.ReaderName,
                Findings = ClipAnalyzer.FindingsOf(measurement, state.Options.TimeScale),
            },
        };
    }

    // Laid again by the page's own sliders, which need what it was laid with.
    private static object? SearchBand(ClipFacts facts, RulerScale scale, NotebookState state)
    {
        try
        {
            StripGeometry band = StreakStudy.SearchBand(facts, scale, ClipAnalyzer.StreakOptionsOf(state.Options));
            return new { Corners = Corners(band), OffsetPx = state.Options.BandOffsetPx, band.HalfWidthPx };
        }
        catch (UnusableInputException)
        {
            // Marks beside the picture: measuring says so.
            return null;
        }
    }

    private static double[][] Corners(StripGeometry band) =>
    [
        Pair(band.ToDisplay(0, -band.HalfWidthPx)),
        Pair(band.ToDisplay(band.LengthPx - 1, -band.HalfWidthPx)),
        Pair(band.ToDisplay(band.LengthPx - 1, band.HalfWidthPx)),
        Pair(band.ToDisplay(0, band.HalfWidthPx)),
    ];
}
