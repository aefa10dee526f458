using static StreakTrack.Core.Findings.FindingSeverity;

namespace StreakTrack.Core.Findings;

/// <summary>The one table of findings: every remark the program can make, in the order of the stages.</summary>
public static class FindingKinds
{
    // Clip ---------------------------------------------------------------------------------------------------------------

    /// <summary>Frame times are not evenly spaced.</summary>
    public static FindingKind IrregularFrameTimes { get; } = new("irregular-frame-times", Info,
        "The clip has a variable frame rate; every frame was used with its own time.",
        "Nothing to do: the frames' own times are used. Lock exposure and frame rate in the camera settings for a steadier clip.");

    /// <summary>Frame times repeat or run backwards.</summary>
    public static FindingKind BrokenFrameTimes { get; } = new("broken-frame-times", Error,
        "Frame times repeat, run backwards or are missing, so the time axis cannot be trusted.",
        "Hand in the camera's original file, not a converted, trimmed or joined copy.");

    /// <summary>Frames could not be decoded.</summary>
    public static FindingKind FramesLost { get; } = new("frames-lost", Warning,
        "The container announces more frames than could be decoded.",
        "Copy the file from the phone again; if it stays damaged, film again.");

    /// <summary>The decoder complained about the data.</summary>
    public static FindingKind FramesDamaged { get; } = new("frames-damaged", Warning,
        "The decoder met damaged data, so some pictures may show what was never filmed.",
        "Copy the file from the phone again; if it stays damaged, film again.");

    /// <summary>The reader delivers less than the file holds.</summary>
    public static FindingKind ReducedPictures { get; } = new("reduced-pictures", Info,
        "The embedded decoder delivers fewer bits a sample than the file holds.",
        "Install the ffmpeg program, 5.1 or newer, and analyse again; it delivers the pictures as they are stored.");

    /// <summary>The clip was cut from several pieces.</summary>
    public static FindingKind EditedClip { get; } = new("edited-clip", Warning,
        "The file's edit list joins several pieces, so recorded time may be missing between frames.",
        "Hand in the unedited original.");

    /// <summary>The file's time is not real time.</summary>
    public static FindingKind SlowMotion { get; } = new("slow-motion", Warning,
        "The file names a capture rate other than the rate it plays at: its seconds are not real seconds.",
        "Film at normal speed, or analyse with --time-scale set to playback rate divided by capture rate.");

    /// <summary>The transfer function or colour description had to be assumed.</summary>
    public static FindingKind ColourAssumed { get; } = new("colour-assumed", Info,
        "The file does not say how its brightness is coded; the usual coding for its size was assumed.",
        "Nothing to do, unless the clip or photograph was converted by another program.");

    // Photographs --------------------------------------------------------------------------------------------------------

    /// <summary>A photograph cannot be measured with the others.</summary>
    public static FindingKind PhotoLeftOut { get; } = new("photo-left-out", Warning,
        "A photograph cannot be read, or does not belong to the series, and was left out.",
        "Copy it from the camera again as JPEG or PNG; all photographs of a series have the same size and show the ruler in the same place.");

    /// <summary>A photograph does not say how long it was exposed.</summary>
    public static FindingKind ExposureUnknown { get; } = new("exposure-unknown", Info,
        "A photograph does not say how long it was exposed, so it is taken on trust that it saw whole periods of the oscillation.",
        "Hand in the camera's own file, which states the exposure, or make sure that the exposure was longer than a period.");

    /// <summary>Too few photographs to know the spot.</summary>
    public static FindingKind FewPhotographs { get; } = new("few-photographs", Info,
        "One or two photographs do not tell the spot's width and the light under the streak apart from the streak itself.",
        "Photograph three amplitudes or more with the camera left as it is; a short streak among them helps most.");

    // Ruler --------------------------------------------------------------------------------------------------------------

    /// <summary>One mark disagrees with the others.</summary>
    public static FindingKind MarkDoubtful { get; } = new("mark-doubtful", Warning,
        "One mark does not fit the scale that the other marks agree on.",
        "Check that mark's reading and place; correct it or leave it out.");

    /// <summary>Too few marks to check the scale.</summary>
    public static FindingKind FewMarks { get; } = new("few-marks", Info,
        "With so few marks a wrong one cannot be noticed, and perspective is not corrected.",
        "Mark at least four ticks, spread over the whole streak.");

    /// <summary>The streak reaches beyond the marks.</summary>
    public static FindingKind OutsideMarks { get; } = new("outside-marks", Warning,
        "The streak reaches beyond the outermost marks, where the scale is extrapolated.",
        "Mark ticks on both sides of the longest streak.");

    /// <summary>Marks lie outside the picture.</summary>
    public static FindingKind MarksOutsidePicture { get; } = new("marks-outside-picture", Warning,
        "A mark lies outside the picture.",
        "Check that the marks belong to this clip and were taken in the picture as displayed.");

    /// <summary>The ticks between the marks were not found.</summary>
    public static FindingKind TicksNotFound { get; } = new("ticks-not-found", Info,
        "The ticks between the marks could not be told apart or counted safely, so the scale rests on the marks alone.",
        "Mark more ticks by hand; sharper focus and more light on the ruler help. Check that the readings belong to the marked ticks.");

    // Streak -------------------------------------------------------------------------------------------------------------

    /// <summary>No streak was found.</summary>
    public static FindingKind NoStreak { get; } = new("no-streak", Error,
        "Nothing that behaves like a laser streak was found along the ruler.",
        "Check the marks and the clip; give the band by hand, or film so that the streak lies on the ruler.");

    /// <summary>The exposure is shorter than an oscillation period.</summary>
    public static FindingKind PartialExposure { get; } = new("partial-exposure", Warning,
        "A frame's exposure is shorter than one oscillation period, so it shows only an arc of the swing.",
        "Film with a longer exposure: at least one period, 1/30 s for oscillations above 30 Hz.");

    /// <summary>A dot moves where a streak was expected.</summary>
    public static FindingKind MovingDot { get; } = new("moving-dot", Warning,
        "The light flashes, or the exposure is much shorter than a period: each frame shows a dot that moves at an alias frequency, and no streak. The dot's frequency and the decay of its swing are stated, and no amplitudes.",
        "Use steady light and an exposure of at least one period; with flashes, tune them near the oscillation so that the dot moves slowly.");

    /// <summary>The streak is clipped white.</summary>
    public static FindingKind Saturation { get; } = new("saturation", Warning,
        "The streak is brighter than the camera can record, so its shape at the ends is cut off.",
        "Lower the exposure compensation or weaken the beam until the streak is coloured and not white.");

    /// <summary>The streak leaves the picture or the ruler.</summary>
    public static FindingKind StreakCutOff { get; } = new("streak-cut-off", Warning,
        "The streak leaves the picture in some frames; these frames were not used.",
        "Move the camera back, or start with a smaller amplitude.");

    /// <summary>Something hides a part of the streak.</summary>
    public static FindingKind StreakHidden { get; } = new("streak-hidden", Warning,
        "In some frames a part of the streak is hidden, by somebody or something in the way or by the end of the ruler; these frames were not used.",
        "Keep people and hands out of the view, and let the whole streak fall on the ruler or on a card behind it.");

    /// <summary>Pictures are shown twice.</summary>
    public static FindingKind FramesRepeated { get; } = new("frames-repeated", Warning,
        "Some frames show the picture before them once more; they belong to an earlier time and were not used.",
        "Hand in the camera's own file: converters to another rate, and phones in poor light, repeat pictures.");

    /// <summary>The streak is faint.</summary>
    public static FindingKind LowContrast { get; } = new("low-contrast", Warning,
        "The streak hardly stands out from its surroundings.",
        "Darken the room, or lock the exposure on the streak.");

    /// <summary>The camera moved.</summary>
    public static FindingKind Movement { get; } = new("movement", Warning,
        "The ruler moves in the picture.",
        "Put the phone on a stand and switch picture stabilisation off.");

    /// <summary>The exposure changed in mid-clip.</summary>
    public static FindingKind ExposureStep { get; } = new("exposure-step", Warning,
        "The brightness of the scene changes within the clip: the exposure was not locked.",
        "Lock exposure and focus before filming.");

    /// <summary>The spot's width changes.</summary>
    public static FindingKind FocusChange { get; } = new("focus-change", Warning,
        "The spot becomes wider or narrower within the clip: the focus was not locked.",
        "Lock exposure and focus before filming.");

    /// <summary>Threshold and profile estimates differ.</summary>
    public static FindingKind EstimatesDisagree { get; } = new("estimates-disagree", Warning,
        "The threshold estimate and the profile estimate of the amplitude differ by more than their known offset.",
        "Look at the contact sheet: reflections, glare or a second spot may have been taken for the streak.");

    /// <summary>The amplitude came too close to the spot's own width.</summary>
    public static FindingKind BelowUsableRange { get; } = new("below-usable-range", Info,
        "In some frames the streak is too short beside the spot's width to be measured; these frames were not used in the fit.",
        "Nothing to do: the fit ends where the streak can no longer be told from the spot.");

    // Fit ----------------------------------------------------------------------------------------------------------------

    /// <summary>Too few usable points.</summary>
    public static FindingKind TooFewPoints { get; } = new("too-few-points", Error,
        "There are too few usable amplitudes for a fit.",
        "Film a longer part of the motion.");

    /// <summary>Amplitudes are negative by more than noise.</summary>
    public static FindingKind NegativeAmplitudes { get; } = new("negative-amplitudes", Error,
        "Many amplitudes are negative, which half the length of a streak never is.",
        "Hand in amplitudes, as half the distance of the turning points, and not the displacement itself.");

    /// <summary>The fit did not converge.</summary>
    public static FindingKind NotConverged { get; } = new("not-converged", Error,
        "The fit did not come to rest at a minimum; its numbers must not be used.",
        "Choose the model or the window by hand.");

    /// <summary>A single exponential is not enough.</summary>
    public static FindingKind NotSingleExponential { get; } = new("not-single-exponential", Warning,
        "The amplitude does not follow a single exponential within its uncertainty.",
        "Look at the residuals; compare the models; check for a second cause of damping or a drive that was not off.");

    /// <summary>The window is short compared with tau.</summary>
    public static FindingKind ShortWindow { get; } = new("short-window", Warning,
        "The part of the motion in the clip is short compared with the decay time, so tau and the other parameters are hard to tell apart.",
        "Film at least three decay times.");

    /// <summary>Residuals are correlated.</summary>
    public static FindingKind CorrelatedResiduals { get; } = new("correlated-residuals", Info,
        "Neighbouring residuals resemble each other; the stated uncertainties were enlarged for it.",
        "Nothing to do; a smooth pattern in the residuals can show a wrong model.");

    /// <summary>Points far off the curve.</summary>
    public static FindingKind Outliers { get; } = new("outliers", Warning,
        "Some points lie far off the curve.",
        "Look at these frames in the contact sheet.");

    /// <summary>The steady part shows that no switch happened.</summary>
    public static FindingKind NoChangeSeen { get; } = new("no-change-seen", Warning,
        "The amplitude hardly changes over the clip, so there is no decay or rise to measure.",
        "Film while the drive is switched.");

    /// <summary>The motion is not one that the models describe.</summary>
    public static FindingKind ModelDoesNotFit { get; } = new("model-does-not-fit", Warning,
        "None of the models tried follows the series within a few times its uncertainty.",
        "Name the model, or cut the window to one change of the drive.");

    /// <summary>The drive was changed more than once.</summary>
    public static FindingKind SeveralDriveChanges { get; } = new("several-drive-changes", Error,
        "The series shows more than one change of the drive, and no decay time belongs to all of it.",
        "Cut the window to one change of the drive (--from, --to). For a drive stepped through resonance give the table of its steps (--steps).");

    /// <summary>Rival models describe the data equally well.</summary>
    public static FindingKind ModelsNotToldApart { get; } = new("models-not-told-apart", Info,
        "The data do not tell two models apart whose decay times differ.",
        "Name the model that the apparatus calls for, or film until the motion has died away.");

    /// <summary>A very long series was averaged in groups before the fit.</summary>
    public static FindingKind PointsAveraged { get; } = new("points-averaged", Info,
        "The series is so long that neighbouring points were averaged in groups before the fit; a single stray point within a group can't be named.",
        "Nothing to do; fit a shorter window to see single points.");

    /// <summary>The switch was to be found as a change point, and there is none.</summary>
    public static FindingKind SwitchNotFound { get; } = new("switch-not-found", Warning,
        "The time of the switch was to be found as a change point of the series, and no steady part followed by a change is there.",
        "Give the time of the switch if it is known, or start filming a second before the drive is switched.");

    /// <summary>A parameter would leave its physical range.</summary>
    public static FindingKind ParameterAtBound { get; } = new("parameter-at-bound", Warning,
        "A parameter of the model would leave its physical range and was held at its bound.",
        "Choose a model without that parameter.");

    /// <summary>A 95 % interval has no end on one side.</summary>
    public static FindingKind OpenInterval { get; } = new("open-interval", Warning,
        "The data set no limit to a parameter on one side.",
        "Film a longer part of the motion, or choose a model with fewer parameters.");

    /// <summary>The points' own uncertainties do not match their scatter.</summary>
    public static FindingKind UncertaintiesRescaled { get; } = new("uncertainties-rescaled", Info,
        "The scatter of the points differs from what their own uncertainties announce.",
        "Nothing to do: the fit's uncertainties follow from the scatter that was seen.");

    /// <summary>Some points have no uncertainty of their own.</summary>
    public static FindingKind UncertaintiesIncomplete { get; } = new("uncertainties-incomplete", Info,
        "Some points have an uncertainty of their own and others have none, so it was not used for weights.",
        "Give every point its uncertainty, or none.");

    /// <summary>The decay time depends on the window.</summary>
    public static FindingKind TauDependsOnWindow { get; } = new("tau-depends-on-window", Warning,
        "The decay time changes with the window by more than chance allows, so the model does not hold over all of it.",
        "Look at the robustness table; compare the models, or choose the part of the motion that you mean.");

    // Studies ------------------------------------------------------------------------------------------------------------

    /// <summary>Points scatter more than their uncertainties allow.</summary>
    public static FindingKind ScatterExceedsUncertainty { get; } = new("scatter-exceeds-uncertainty", Warning,
        "The points scatter farther about the curve than their stated uncertainties allow.",
        "Look for a point that is off and for a cause that changes between runs; the uncertainties may be stated too small.");

    /// <summary>A straight line is not enough.</summary>
    public static FindingKind LineNotStraight { get; } = new("line-not-straight", Warning,
        "The points bend away from a straight line.",
        "Look at the residuals; leave out settings at which the relation is known to end, such as saturation of a core.");

    /// <summary>The peak is not enclosed by the drive frequencies.</summary>
    public static FindingKind PeakAtEdge { get; } = new("peak-at-edge", Warning,
        "The drive frequencies do not enclose the resonance peak.",
        "Measure on both sides of the peak, out to at least twice its half width.");

    /// <summary>The peak is sampled too coarsely.</summary>
    public static FindingKind FewPointsAcrossPeak { get; } = new("few-points-across-peak", Warning,
        "Too few drive frequencies lie on the resonance peak.",
        "Step the drive so that at least five frequencies fall within the width f0/Q, and wait for the motion to settle at each.");

    /// <summary>The response does not have the shape of a linear oscillator's.</summary>
    public static FindingKind ResponseShape { get; } = new("response-shape", Warning,
        "The points follow the resonance curve of a linear oscillator only roughly.",
        "Wait longer at each frequency, drive more weakly, and sweep in both directions: the two must agree.");

    /// <summary>Q from the width and Q from the decay differ.</summary>
    public static FindingKind QualityFactorsDisagree { get; } = new("quality-factors-disagree", Warning,
        "The quality factors from the width of the resonance and from the decay do not agree.",
        "Measure both at the same amplitude and setting; unsettled points and amplitude-dependent damping widen the resonance.");

    /// <summary>Steps of a sweep were left before the motion settled.</summary>
    public static FindingKind UnsettledSteps { get; } = new("unsettled-steps", Info,
        "At some steps of the sweep the drive was changed before the motion had settled; what was left of the transient was fitted and taken off.",
        "Nothing to do; steps of five decay times need no such correction.");

    /// <summary>Nothing usable was seen at a step of a sweep.</summary>
    public static FindingKind StepNotSeen { get; } = new("step-not-seen", Warning,
        "A step of the sweep holds no usable frame, so it has no amplitude of its own.",
        "See why the frames of that step could not be used, and film it again.");

    /// <summary>Steps of the table lie outside the clip.</summary>
    public static FindingKind StepsOutsideClip { get; } = new("steps-outside-clip", Warning,
        "The drive table names steps before or after the series.",
        "Check that the table belongs to this clip and counts seconds from its first frame.");

    /// <summary>Steps are seen at other times than the table says.</summary>
    public static FindingKind StepTimesDiffer { get; } = new("step-times-differ", Warning,
        "The steps of the sweep are seen at other times than the drive table says; the times seen were used.",
        "Check the times in the table; they count from the first frame of the clip.");

    /// <summary>The drive's phase jumps at the steps.</summary>
    public static FindingKind DrivePhaseJumps { get; } = new("drive-phase-jumps", Info,
        "The motion after the steps shows that the drive's phase does not run on.",
        "Nothing to do; a generator whose phase runs on while it is tuned lets resonance and decay time be told better.");

    /// <summary>A setting or current has no effect that can be told from none.</summary>
    public static FindingKind NoEffectSeen { get; } = new("no-effect-seen", Info,
        "The quantity does not change with the setting within its uncertainty.",
        "Cover a wider range of settings, or measure each more often.");

    /// <summary>The line gives a negative square of the frequency at zero current.</summary>
    public static FindingKind NegativeIntercept { get; } = new("negative-intercept", Warning,
        "The straight line gives a negative square of the frequency at zero current.",
        "Check the signs of the currents and measure nearer to zero current.");

    /// <summary>Repeated runs differ more than their uncertainties allow.</summary>
    public static FindingKind RunsDiffer { get; } = new("runs-differ", Warning,
        "Repeated runs at one setting differ more than their own uncertainties allow.",
        "Look for what changed between the runs, such as the starting amplitude or the temperature; the means' uncertainties include it.");

    // Submissions --------------------------------------------------------------------------------------------------------

    /// <summary>The submission could not be judged.</summary>
    public static FindingKind NotJudged { get; } = new("not-judged", Error,
        "Something that a verdict needs is missing or cannot be used.",
        "Hand in a folder or zip with the camera's own clip and the record.json of its analysis.");

    /// <summary>The submission was not opened.</summary>
    public static FindingKind SubmissionRefused { get; } = new("submission-refused", Error,
        "The submission holds something that is not opened: a link, a path that leads out of it, an odd name, or far too much data.",
        "Pack the clip and the record anew, as plain files with plain names.");

    /// <summary>The work on a submission ran into a limit.</summary>
    public static FindingKind LimitExceeded { get; } = new("limit-exceeded", Error,
        "The work on this submission was ended because it took too long, took too much memory, or ended by itself.",
        "Look at the submission by hand, or grade it again with wider limits.");

    /// <summary>The clip is not the one of the record.</summary>
    public static FindingKind ClipDiffers { get; } = new("clip-differs", Warning,
        "The clip handed in is not, byte for byte, the clip that the record was made from.",
        "Hand in the clip that was analysed, neither trimmed nor sent through a messenger.");

    /// <summary>The series is not the one of the record.</summary>
    public static FindingKind SeriesDiffers { get; } = new("series-differs", Warning,
        "The series of the submission is not the one that its clip and settings give.",
        "Hand in the files of one analysis together, as they were written.");

    /// <summary>A stated number is not what the same settings give.</summary>
    public static FindingKind NumbersDiffer { get; } = new("numbers-differ", Error,
        "A number in the record is not what the same clip with the same settings gives.",
        "Analyse the clip again and hand in the record as it was written.");

    /// <summary>A mark's reading disagrees with the ticks.</summary>
    public static FindingKind MarkMisread { get; } = new("mark-misread", Error,
        "The reading of a mark disagrees with the ticks that are seen in the picture.",
        "Read that tick again and correct the mark.");

    /// <summary>All readings are off by a factor.</summary>
    public static FindingKind ScaleFactor { get; } = new("scale-factor", Error,
        "The ticks in the picture do not have the spacing that the readings give them: all lengths are off by one factor.",
        "Check the unit of the readings; they are in millimetres.");

    /// <summary>The student fitted a part of the clip.</summary>
    public static FindingKind WindowChosen { get; } = new("window-chosen", Info,
        "The fit was confined to a part of the clip.",
        "Say in the report why this part was chosen.");

    /// <summary>The student named a model.</summary>
    public static FindingKind ModelChosen { get; } = new("model-chosen", Warning,
        "The model was named by hand, and an automatic run chooses another one.",
        "Compare the models' residuals and say in the report why this one was chosen.");

    /// <summary>The student left frames out.</summary>
    public static FindingKind FramesLeftOut { get; } = new("frames-left-out", Info,
        "Frames were left out by hand.",
        "Say in the report why these frames were left out.");

    /// <summary>The stated decay time disagrees with an independent automatic run.</summary>
    public static FindingKind TauDisagrees { get; } = new("tau-disagrees", Warning,
        "The stated decay time and that of an automatic run differ by more than their expanded uncertainties allow.",
        "Look at what was chosen by hand: window, model, frames left out, marks.");

    // References ---------------------------------------------------------------------------------------------------------

    /// <summary>The scatter between runs is not known.</summary>
    public static FindingKind BetweenRunsUnknown { get; } = new("between-runs-unknown", Warning,
        "How far runs of this instrument scatter is not known, so the reference's tolerance may be too narrow or far too wide.",
        "Make the reference from five or more runs, or give the scatter with --tau-scatter.");

    /// <summary>One run of a reference disagrees with the others.</summary>
    public static FindingKind RunStandsOut { get; } = new("run-stands-out", Warning,
        "One run disagrees with all others.",
        "Look at that run's report; film it again or leave it out for a reason that you can state.");

    /// <summary>The stated decay time disagrees with the reference.</summary>
    public static FindingKind ReferenceDisagrees { get; } = new("reference-disagrees", Warning,
        "The stated decay time lies farther from the instrument's reference than both uncertainties allow.",
        "Check the setting of the instrument, the marks, and whether the drive was off during the decay.");

    /// <summary>All kinds, in the order of the stages.</summary>
    public static IReadOnlyList<FindingKind> All { get; } =
    [
        IrregularFrameTimes, BrokenFrameTimes, FramesLost, FramesDamaged, ReducedPictures, EditedClip, SlowMotion, ColourAssumed,
        PhotoLeftOut, ExposureUnknown, FewPhotographs,
        MarkDoubtful, FewMarks, OutsideMarks, MarksOutsidePicture, TicksNotFound,
        NoStreak, PartialExposure, MovingDot, Saturation, StreakCutOff, StreakHidden, FramesRepeated, LowContrast, Movement, ExposureStep, FocusChange, EstimatesDisagree, BelowUsableRange,
        TooFewPoints, NegativeAmplitudes, NotConverged, NotSingleExponential, ShortWindow, CorrelatedResiduals, Outliers, NoChangeSeen, ModelDoesNotFit,
        SeveralDriveChanges, ModelsNotToldApart, PointsAveraged, SwitchNotFound, ParameterAtBound, OpenInterval, UncertaintiesRescaled, UncertaintiesIncomplete,
        TauDependsOnWindow,
        ScatterExceedsUncertainty, LineNotStraight, PeakAtEdge, FewPointsAcrossPeak, ResponseShape, QualityFactorsDisagree,
        UnsettledSteps, StepNotSeen, StepsOutsideClip, StepTimesDiffer, DrivePhaseJumps,
        NoEffectSeen, NegativeIntercept, RunsDiffer,
        NotJudged, SubmissionRefused, LimitExceeded, ClipDiffers, SeriesDiffers, NumbersDiffer, MarkMisread, ScaleFactor,
        WindowChosen, ModelChosen, FramesLeftOut, TauDisagrees,
        BetweenRunsUnknown, RunStandsOut, ReferenceDisagrees,
    ];
}
