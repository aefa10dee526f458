using StreakTrack.Core;
using StreakTrack.Core.Analysis;
using StreakTrack.Core.Fitting;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;
using StreakTrack.Imaging.Streaks;
using StreakTrack.Reporting;
using StreakTrack.Reporting.Contact;
using StreakTrack.Worksheet.Serving;

namespace StreakTrack.Worksheet.Desk;

/// <summary>The work on one clip: marks, settings, measurement, results; saved as it goes on.</summary>
/// <remarks>
/// Changes come one after the other and name the version they were made to. What follows from a change is computed at once, and only as far as
/// it is affected: a fit option refits, marks change the scale of the readings there are, and only the band needs the clip again.
/// </remarks>
internal sealed class Notebook : IDisposable
{
    private readonly EventHub _hub;
    private readonly WorkFolder _folder;
    private readonly ReaderChoice _reader;
    private readonly SemaphoreSlim _turn = new(1);
    private readonly Lock _studyLock = new();
    private readonly CancellationTokenSource _closing = new();
    private readonly Lazy<Task<StillPictures>> _stills;
    private volatile NotebookState _state;
    private Task _running = Task.CompletedTask;
    private Task _settled = Task.CompletedTask;
    private CancellationTokenSource _settling = new();
    private string? _lastModel;

    private Notebook(ClipFacts facts, string name, string sha256, WorkFolder folder, string reader, EventHub hub, NotebookState state)
    {
        (Facts, Name, Sha256, _folder, _hub, _state) = (facts, name, sha256, folder, hub, state);
        _reader = Enum.Parse<ReaderChoice>(reader, ignoreCase: true);
        Shelf = new FrameShelf(facts, _reader, () => hub.Tell("frames", new { Shelf!.Count, Complete = Shelf.IsComplete }));
        _stills = new(() => Task.Run(() => StillPictures.Of(facts, _reader, _closing.Token)));
    }

    /// <summary>The clip.</summary>
    public ClipFacts Facts { get; }

    /// <summary>What the user calls it.</summary>
    public string Name { get; }

    /// <summary>SHA-256 of the clip.</summary>
    public string Sha256 { get; }

    /// <summary>Single frames.</summary>
    public FrameShelf Shelf { get; }

    /// <summary>The work folder.</summary>
    public string FolderPath => _folder.FullPath;

    /// <summary>What stands in it now.</summary>
    public NotebookState State => _state;

    /// <summary>Opens the notebook of a clip, where it was left.</summary>
    /// <param name="path">The clip.</param>
    /// <param name="name">What the user calls it.</param>
    /// <param name="knownSha256">SHA-256 of the clip where it is known already; null to compute it.</param>
    /// <param name="options">How the worksheet is served.</param>
    /// <param name="hub">Who is told what happens.</param>
    /// <param name="cancellationToken">Stops the opening.</param>
    /// <exception cref="UnusableInputException">It is no clip.</exception>
    public static Notebook Open(
        string path, string name, string? knownSha256, WorksheetOptions options, EventHub hub, CancellationToken cancellationToken)
    {
        ClipFacts facts = ClipFile.Inspect(path, cancellationToken);
        string sha256 = knownSha256 ?? ClipAnalyzer.Sha256Of(facts.Path, cancellationToken);
        var folder = WorkFolder.For(options.WorkFolder, name, sha256);
        AnalysisRecord? earlier = folder.Read(sha256, out string? remark);
        var state = new NotebookState
        {
            Marks = earlier?.Marks ?? [],
            Options = earlier?.Options ?? new AnalysisOptions { Reader = options.Reader },
            SavingProblem = remark,
        };
        var notebook = new Notebook(facts, earlier?.Clip?.File ?? name, sha256, folder, options.Reader, hub, state);
        notebook._state = notebook.Derived(state, state);

        // What was measured before is taken up again; only where that was not kept, or by another build, the clip is measured again.
        if (notebook._state.Scale is null)
            return notebook;
        if (KeptMeasurement.Find(folder.FullPath, sha256) is { } kept)
            notebook.Begin(kept.AlongMarks, kept);
        else if (earlier is { Result.Series.Frames: > 0 })
            notebook.Begin(state.Options.BandMarks.Count > 0 ? state.Options.BandMarks : state.Marks, kept: null);
        return notebook;
    }

    /// <summary>Makes the present version one of a number, from which later ones count.</summary>
    public async Task CountFromAsync(int version)
    {
        await _turn.WaitAsync();
        try
        {
            _state = _state with { Version = version };
        }
        finally
        {
            _turn.Release();
        }
    }

    /// <summary>The pictures that marks are set on.</summary>
    public Task<StillPictures> StillsAsync() => _stills.Value;

    /// <summary>Makes a change.</summary>
    /// <param name="version">The version it was made to.</param>
    /// <param name="change">What it does to marks and settings.</param>
    /// <exception cref="StaleVersionException">There is a newer version.</exception>
    /// <exception cref="UnusableInputException">A setting is out of its range.</exception>
    public async Task ChangeAsync(int version, Func<NotebookState, NotebookState> change)
    {
        await _turn.WaitAsync();
        try
        {
            NotebookState before = _state;
            if (version != before.Version)
                throw new StaleVersionException();
            NotebookState after = Derived(change(before) with { Version = before.Version + 1 }, before);
            Put(Saved(after));
            Settle();
        }
        finally
        {
            _turn.Release();
        }
    }

    /// <summary>Begins to measure along the present marks. The page is told how it goes.</summary>
    /// <param name="version">The version that is to be measured.</param>
    /// <exception cref="StaleVersionException">There is a newer version.</exception>
    /// <exception cref="UnusableInputException">There is no scale, or a measurement is under way.</exception>
    public async Task MeasureAsync(int version)
    {
        await _turn.WaitAsync();
        try
        {
            if (version != _state.Version)
                throw new StaleVersionException();
            if (_state.Run is not null)
                throw new UnusableInputException("measuring", "a measurement is under way", "Wait for it, or cancel it.");
            if (_state.Scale is null)
                throw new UnusableInputException("measuring", "there is no scale yet", "Set two marks on the ruler and type their readings.");
            Begin(_state.Marks, kept: null);
        }
        finally
        {
            _turn.Release();
        }
    }

    /// <summary>Stops the measurement under way, if there is one.</summary>
    public void CancelMeasuring() => _state.Run?.Cancel();

    /// <summary>The profile of a frame; null before anything was measured.</summary>
    public FrameProfile? ProfileOf(int frame)
    {
        lock (_studyLock)
        {
            return _state.Measured is { } measured && frame >= 0 && frame < measured.Study.Measurement.Readings.Count
                ? measured.Study.ProfileOf(frame)
                : null;
        }
    }

    /// <summary>The tick nearest to a point; null when there is none near.</summary>
    public async Task<TickSnap?> SnapAsync(PicturePoint near, double reachPx)
    {
        StillPictures stills = await StillsAsync();
        var options = new TickSnapOptions
        {
            ReachPx = Math.Clamp(reachPx, 1, 50),
            AlongRuler = _state.Scale?.AxisDirection,
        };

        // In a dark room the ruler is seen only where the streak lights it.
        return TickSnapper.Snap(stills.Ruler, near, options) ?? TickSnapper.Snap(stills.Brightest, near, options);
    }

    /// <summary>Writes the report into the work folder.</summary>
    /// <exception cref="UnusableInputException">There are no results yet.</exception>
    public async Task ReportAsync()
    {
        await _settled;
        NotebookState state = _state;
        if (state.Analysis is not ClipAnalysis analysis || state.IsSettling)
            throw new UnusableInputException("the report", "there are no results yet", "Measure the streak first.");
        ContactPicture[] pictures =
            [.. analysis.Measurement.Pictures.Select(p => new ContactPicture(analysis.Measurement.Readings[p.Frame], p.Picture, p.DisplayToPicture))];
        await Task.Run(() => ReportFolder.Write(
            ReportContent.Of(Named(analysis.Record), analysis.Series, analysis.SeriesAnalysis, pictures), FolderPath));
        await _turn.WaitAsync();
        try
        {
            Put(_state with { ReportedVersion = state.Version });
        }
        finally
        {
            _turn.Release();
        }
    }

    /// <summary>The record as it stands now.</summary>
    public AnalysisRecord Record() => RecordOf(_state);

    /// <inheritdoc/>
    public void Dispose()
    {
        // Results that are on their way belong into the record.
        _settled.Wait(TimeSpan.FromSeconds(5));
        _closing.Cancel();
        Task.WaitAll([_running, _settled], TimeSpan.FromSeconds(10));
        Shelf.Dispose();
        Discard(_state.Measured);
        _settling.Dispose();
    }

    private void Begin(IReadOnlyList<MarkRecord> along, KeptMeasurement? kept)
    {
        AnalysisOptions options = _state.Options;
        IReadOnlyList<RulerMark> marks = ClipAnalyzer.MarksOf(along);
        RulerScale scale = ClipAnalyzer.ScaleOf(Facts, marks, options);
        double mmPerPx = scale.MillimetresPerPixelAt(scale.AxisOrigin);
        var run = new MeasuringRun(_hub, mmPerPx, _closing.Token);
        Shelf.Rest(true);
        Put(_state with { Run = run, MeasuringProblem = null });
        RulerScale TickScale(RulerPicture ruler) => ClipAnalyzer.TickScaleOf(Facts, marks, options, ruler, run.Token).Scale;
        Task before = _running;
        _running = Task.Run(async () =>
        {
            await before;
            StreakStudy? study = null;
            string? problem = null;
            bool isKept = false;
            try
            {
                if (kept is not null)
                    run.Report(new AnalysisProgress("taking up what was measured", 0, null));
                study = kept?.Read(Facts, scale, TickScale, ClipAnalyzer.StreakOptionsOf(options), run.Token);
                isKept = study is not null;
                study ??= StreakStudy.Of(Facts, scale, ClipAnalyzer.StreakOptionsOf(options), run, run, TickScale, run.Token);
            }
            catch (OperationCanceledException)
            {
                problem = "The measurement was cancelled.";
            }
            catch (Exception e) when (e is UnusableInputException or MissingComponentException or IOException)
            {
                problem = e.Message;
            }
            catch (Exception e)
            {
                problem = $"This clip led to a fault of the program ({e.GetType().Name}: {e.Message}). Please report it with the clip.";
            }

            run.Tell(always: true);
            MeasuredStreak? measured = null;
            await _turn.WaitAsync();
            try
            {
                run.Dispose();
                Shelf.Rest(false);
                if (_closing.IsCancellationRequested)
                {
                    study?.Dispose();
                    return;
                }

                if (study is null)
                {
                    Put(_state with { Run = null, MeasuringProblem = problem });
                    return;
                }

                Shelf.Learn([.. study.Measurement.Readings.Select(r => r.TimeSeconds)]);
                measured = new MeasuredStreak(study, study, along, study.Options);
                MeasuredStreak? replaced = _state.Measured;
                NotebookState after = Derived(_state with { Run = null, Measured = measured }, _state);
                lock (_studyLock)
                    Put(Saved(after));
                Task readers = _settled;
                Settle();

                // Its files may still be read by what gives up.
                _ = readers.ContinueWith(_ => Discard(replaced), TaskScheduler.Default);
            }
            finally
            {
                _turn.Release();
            }

            if (!isKept)
                await KeepAsync(measured);
        });
    }

    private async Task KeepAsync(MeasuredStreak measured)
    {
        try
        {
            KeptMeasurement.Write(FolderPath, Sha256, measured, CancellationToken.None);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            await _turn.WaitAsync();
            try
            {
                Put(_state with { SavingProblem = $"The measurement could not be kept in {FolderPath}, and will be made again next time: {e.Message}" });
            }
            finally
            {
                _turn.Release();
            }
        }
    }

    // Everything that follows from marks, settings and measurement, as far as a change affects it.
    private NotebookState Derived(NotebookState after, NotebookState before)
    {
        bool sameScale = ReferenceEquals(after.Marks, before.Marks) && after.Options.RulerClass == before.Options.RulerClass
            && (before.Scale is not null || before.ScaleProblem is not null);
        if (!sameScale)
            after = WithScale(after);
        if (after.Measured is MeasuredStreak measured)
            after = after with { Options = after.Options with { BandMarks = measured.AlongMarks.SequenceEqual(after.Marks) ? [] : measured.AlongMarks } };
        if (after.Measured is null || after.Scale is not RulerScale marked || after.MeasuredIsOutdated)
            return after with { Analysis = null, AnalysisProblem = null, Series = null, QuickFit = null, IsSettling = false };

        // The ticks around unchanged marks are where they were.
        bool sameTicks = sameScale && after.Options.Ticks == before.Options.Ticks;
        AmplitudeSeries series = ClipAnalyzer.SeriesOf(
            after.Measured.Study.Measurement, sameTicks && after.Analysis is { } analysis ? analysis.Scale : marked, after.Options);
        return after with { Series = series, QuickFit = QuickFitOf(series, after.Options), IsSettling = true };
    }

    // The present model once, over the present window: enough for the figure to follow the hand.
    private EnvelopeFit? QuickFitOf(AmplitudeSeries series, AnalysisOptions options)
    {
        if ((options.Model != EnvelopeFitOptions.AutomaticModel ? options.Model : _lastModel) is not string model)
            return null;
        EnvelopeFit fit = SeriesAnalyzer.Follow(series, options, model, _closing.Token);
        return fit.Converged ? fit : null;
    }

    // Computes the results of a version in the background; a newer version makes it give up.
    private void Settle()
    {
        _settling.Cancel();
        _settling.Dispose();
        _settling = CancellationTokenSource.CreateLinkedTokenSource(_closing.Token);
        if (!_state.IsSettling)
            return;
        (NotebookState state, Task before, CancellationToken token) = (_state, _settled, _settling.Token);
        _settled = Task.Run(() => SettleAsync(state, before, token), CancellationToken.None);
    }

    private async Task SettleAsync(NotebookState state, Task before, CancellationToken token)
    {
        // The one that gives up still reads the same files.
        await before;
        MeasuredStreak measured = state.Measured!;
        ClipAnalysis? analysis = null;
        string? problem = null;
        try
        {
            token.ThrowIfCancellationRequested();
            measured = measured.WithLaterOf(ClipAnalyzer.StreakOptionsOf(state.Options), token);
            analysis = ClipAnalyzer.Evaluate(
                Facts, Sha256, ClipAnalyzer.MarksOf(state.Marks), state.Options, measured.Study.Measurement, null, token);
        }
        catch (OperationCanceledException)
        {
            return;
        }
        catch (UnusableInputException e)
        {
            problem = e.Message;
        }
        catch (Exception e)
        {
            problem = $"These settings led to a fault of the program ({e.GetType().Name}: {e.Message}). Please report it with the record.";
        }

        await _turn.WaitAsync(CancellationToken.None);
        try
        {
            if (token.IsCancellationRequested)
                return;
            if (analysis?.SeriesAnalysis.Fit is { Converged: true } fit)
                _lastModel = fit.ModelName;
            NotebookState settled = _state with
            {
                Measured = measured, Analysis = analysis, AnalysisProblem = problem, Series = analysis?.Series, QuickFit = null, IsSettling = false,
            };
            lock (_studyLock)
                Put(Saved(settled));
        }
        finally
        {
            _turn.Release();
        }
    }

    private NotebookState WithScale(NotebookState state)
    {
        if (state.Marks.Count < 2)
            return state with { Scale = null, ScaleProblem = null };
        try
        {
            return state with { Scale = ClipAnalyzer.ScaleOf(Facts, ClipAnalyzer.MarksOf(state.Marks), state.Options), ScaleProblem = null };
        }
        catch (UnusableInputException e)
        {
            return state with { Scale = null, ScaleProblem = $"{e.Problem}. {e.NextStep}" };
        }
    }

    private NotebookState Saved(NotebookState state)
    {
        try
        {
            _folder.Save(RecordOf(state));
            return state with { SavingProblem = null };
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or UnusableInputException)
        {
            return state with { SavingProblem = $"The work could not be saved in {FolderPath}: {e.Message}" };
        }
    }

    private AnalysisRecord RecordOf(NotebookState state) => Named(state is { Analysis: { } analysis, IsSettling: false } ? analysis.Record : Draft(state));

    private AnalysisRecord Named(AnalysisRecord record) => record with { Clip = record.Clip! with { File = Name } };

    // A record without results: with it the work goes on, here or by the command line.
    private AnalysisRecord Draft(NotebookState state)
    {
        return new AnalysisRecord
        {
            RecordVersion = AnalysisRecord.CurrentVersion,
            Program = ClipAnalyzer.ProgramOf(null),
            Clip = ClipAnalyzer.ClipOf(Facts, Sha256, Shelf.IsComplete ? Shelf.Count : Facts.AnnouncedFrames ?? Shelf.Count),
            Marks = state.Marks,
            Options = state.Options,
            Result = new ResultRecord
            {
                Scale = state.Scale is RulerScale scale ? ResultRecords.Of(scale, ClipAnalyzer.MarksOf(state.Marks)) : null,
                Series = ResultRecords.Of(new AmplitudeSeries([])),
                Findings = [.. Facts.Findings, .. state.Scale?.Findings ?? []],
            },
        };
    }

    // Nobody is in the middle of a profile then.
    private void Discard(MeasuredStreak? measured)
    {
        lock (_studyLock)
            measured?.Pass.Dispose();
    }

    private void Put(NotebookState state)
    {
        _state = state with { Revision = _state.Revision + 1 };
        _hub.Tell("changed", new { _state.Version, _state.Revision });
    }

}
