using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Records;
using StreakTrack.Core.References;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Submissions;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Submissions;

/// <summary>Judges one submission: re-run with the record's settings, automatic run, marks against ticks.</summary>
public static class SubmissionJudge
{
    /// <summary>Frames from all over the clip that its usual picture is made of.</summary>
    private const int SampledFrames = 10;

    /// <summary>Judges.</summary>
    /// <param name="submission">Folder, zip or clip.</param>
    /// <param name="workFolder">Folder for what is unpacked; the caller removes it.</param>
    /// <param name="reference">What the stated decay time is held against; null for nothing.</param>
    /// <param name="progress">Told how far the work is; may be null.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <returns>The judgement, and the re-run for its report; null when there was none.</returns>
    /// <exception cref="MissingComponentException">The machine lacks what decoding needs.</exception>
    public static (Judgement Judgement, ClipAnalysis? Rerun) Judge(
        string submission, string workFolder, ReferenceTarget? reference, IProgress<AnalysisProgress>? progress, CancellationToken cancellationToken)
    {
        string name = SubmissionFiles.Shown(Path.GetFileName(Path.TrimEndingDirectorySeparator(Path.GetFullPath(submission))));
        try
        {
            SubmissionFiles files = SubmissionFiles.Open(submission, workFolder);
            if (files.ClipPath is null)
                return (Judgement.Without(name, FindingKinds.NotJudged.With("There is no clip in the submission.")), null);
            if (files.RecordPath is null)
                return (Judgement.Without(name, FindingKinds.NotJudged.With("There is no record.json in the submission, so nothing is stated that could be checked.")), null);
            AnalysisRecord stated = RecordJson.Read(files.RecordPath);
            return Judge(name, files.ClipPath, stated, reference, progress, cancellationToken);
        }
        catch (SubmissionRefusedException e)
        {
            return (Judgement.Without(name, FindingKinds.SubmissionRefused.With($"Not opened: {e.Message}.")), null);
        }
        catch (UnusableInputException e)
        {
            return (Judgement.Without(name, FindingKinds.NotJudged.With($"{char.ToUpperInvariant(e.Problem[0])}{e.Problem[1..]}.")), null);
        }
    }

    private static (Judgement Judgement, ClipAnalysis? Rerun) Judge(
        string name, string clipPath, AnalysisRecord stated, ReferenceTarget? reference, IProgress<AnalysisProgress>? progress,
        CancellationToken cancellationToken)
    {
        ClipFacts facts = ClipFile.Inspect(clipPath, cancellationToken);
        IReadOnlyList<RulerMark> marks = ClipAnalyzer.MarksOf(stated.Marks);
        QuantityRecord? statedTau = TauOf(stated);
        ReferenceComparison? held = statedTau is null ? null : reference?.Hold(statedTau);
        var judgement = new Judgement
        {
            Submission = name, Verdict = Verdict.CannotBeJudged, StatedTauS = statedTau, Model = stated.Result.Fit?.Model,
            ReferenceTauS = held?.TauS, ReferenceNormalisedError = held?.NormalisedError,
            ClipSha256 = ClipAnalyzer.Sha256Of(facts.Path, cancellationToken),
        };

        ClipAnalysis rerun;
        try
        {
            rerun = ClipAnalyzer.Analyze(clipPath, marks, stated.Options, progress, cancellationToken);
        }
        catch (ArgumentException e)
        {
            return (judgement with { Reasons = [FindingKinds.NotJudged.With($"The record's settings cannot be used: {e.Message.Split(" (Parameter")[0]}")] }, null);
        }
        catch (UnusableInputException e)
        {
            Finding why = FindingKinds.NotJudged.With($"The clip could not be analysed with the record's settings: {e.Problem}.");
            return (judgement with { Reasons = [why] }, null);
        }

        (Verdict verdict, IReadOnlyList<Finding> reasons) = RecordComparison.Compare(stated, rerun.Record);
        StreakOptions streakOptions = ClipAnalyzer.StreakOptionsOf(stated.Options);
        IReadOnlyList<RawFrame> frames = ClipFile.SampleFrames(facts, SampledFrames, null, streakOptions.Reader, cancellationToken).Frames;
        RulerPicture picture = RulerPicture.UsualOf(frames, facts.Orientation);
        MarkCheck check = MarkCheck.Of(rerun.Measurement.Ruler, marks, cancellationToken);

        // Of the choices made by hand only those stay that the clip cannot tell: the frequency, the distance, the clock, the steps of the drive.
        var automaticOptions = new AnalysisOptions
        {
            Reader = stated.Options.Reader, TimeScale = stated.Options.TimeScale, RulerClass = stated.Options.RulerClass,
            FrequencyHz = stated.Options.FrequencyHz, FrequencyUncertaintyHz = stated.Options.FrequencyUncertaintyHz,
            DistanceMm = stated.Options.DistanceMm, DistanceUncertaintyMm = stated.Options.DistanceUncertaintyMm,
            DriveSteps = stated.Options.DriveSteps,
        };
        ClipAnalysis automatic = ClipAnalyzer.Evaluate(
            facts, judgement.ClipSha256, check.Marks, automaticOptions, rerun.Measurement, progress, cancellationToken);
        QuantityRecord? automaticTau = TauOf(automatic.Record);
        (double normalisedError, Finding? remark) = statedTau is not null && automaticTau is not null
            ? ChoiceReview.Against(statedTau, automaticTau) : (double.NaN, null);

        return (judgement with
        {
            Verdict = verdict,
            Reasons = ResultRecords.Ordered(
            [
                .. reasons, .. check.Findings, .. ChoiceReview.Of(stated, automatic.Record), .. remark is null ? (Finding[])[] : [remark],
                .. held?.Remark is Finding farOff ? [farOff] : (Finding[])[],
            ]),
            RerunTauS = TauOf(rerun.Record),
            AutomaticTauS = automaticTau,
            NormalisedError = double.IsFinite(normalisedError) ? normalisedError : null,
            AutomaticModel = automatic.Record.Result.Fit?.Model,
            Trace = PictureTrace.Of(picture),
            SeriesTrace = SeriesTrace.Of(rerun.Series),
        }, rerun);
    }

    private static QuantityRecord? TauOf(AnalysisRecord record) =>
        record.Result.Fit?.Parameters.TryGetValue("tau_s", out ParameterRecord? tau) == true ? new QuantityRecord(tau.Value, tau.StandardUncertainty) : null;
}
