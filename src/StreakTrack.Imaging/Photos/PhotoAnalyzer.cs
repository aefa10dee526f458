using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using StreakTrack.Core;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Oscillator;
using StreakTrack.Core.Records;
using StreakTrack.Core.Scale;
using StreakTrack.Core.Series;
using StreakTrack.Imaging.Analysis;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;
using StreakTrack.Imaging.Streaks;

namespace StreakTrack.Imaging.Photos;

/// <summary>Measures the streak in photographs taken one by one: a resonance curve, point by point. The stages are those of a clip, of which the
/// photographs are the frames; what a clip's frames owe to their neighbours in time, they do not.</summary>
public static class PhotoAnalyzer
{
    /// <summary>Photographs looked at to find the band.</summary>
    private const int SurveyPhotos = 12;

    /// <summary>How far beside the marks' line the streak is looked for at most, in px: in pictures of many millions of pixels these are centimetres
    /// on the ruler all the same, and memory grows with it.</summary>
    private const int FarthestSearchPx = 800;

    /// <summary>Most pictures for the contact sheet: a page must stay small enough to be sent by mail.</summary>
    private const int MostPictures = 40;

    /// <summary>Distance from an end of the streak to the border of the picture that is needed, in standard deviations of the spot.</summary>
    private const double BorderSigma = 3;

    /// <summary>Photographs that it takes to tell the spot's width and the light under the streak apart.</summary>
    private const int EnoughPhotos = 3;

    /// <summary>What an amplitude may be off with fewer, in standard deviations of the spot, from lone simulated photographs of lit and of clipped
    /// streaks; in place of <see cref="ClipAnalyzer.LengthOffsetInSpots"/>.</summary>
    private const double FewOffsetInSpots = 0.3;

    /// <summary>What an amplitude may be off in a grey picture of unknown making, in standard deviations of the spot. In one made grey from the codes
    /// of a colour picture a red streak came out longer by up to 0.34 of them; taken as the width of a rectangular distribution.</summary>
    private const double GreyOffsetInSpots = 0.34 / 1.732;

    /// <summary>Measures photographs.</summary>
    /// <param name="inputs">The photographs, in the order of the series; the marks belong to the first one that can be read.</param>
    /// <param name="marks">Ruler marks in the upright picture of that photograph, at least two.</param>
    /// <param name="options">Settings; those of fits do not matter here.</param>
    /// <param name="progress">Told how far the work is; may be null.</param>
    /// <param name="cancellationToken">Stops the work.</param>
    /// <exception cref="UnusableInputException">No photograph or the marks cannot be used, or there is no streak.</exception>
    /// <exception cref="MissingComponentException">The machine lacks what the work needs.</exception>
    public static PhotoAnalysis Analyze(
        IReadOnlyList<PhotoInput> inputs, IReadOnlyList<RulerMark> marks, AnalysisOptions options, IProgress<AnalysisProgress>? progress = null,
        CancellationToken cancellationToken = default)
    {
        ArgumentOutOfRangeException.ThrowIfZero(inputs.Count);
        var findings = new List<Finding>();
        IReadOnlyList<SeriesPhoto> photos = Gather(inputs, findings, progress, cancellationToken);
        bool grey = photos.All(p => p.Facts.IsGrey);
        var source = new PhotoFrames(photos, grey, wanted: []);
        RulerScale marked = ClipAnalyzer.ScaleOf(source.Facts, marks, options);
        StreakOptions streakOptions = ClipAnalyzer.StreakOptionsOf(options) with
        {
            SeparateExposures = true,
            SurveyFrames = SurveyPhotos,
            SearchHalfWidthPx = options.BandHalfWidthPx
                ?? Math.Min(FarthestSearchPx, Math.Min(source.Facts.Orientation.CodedWidth, source.Facts.Orientation.CodedHeight) / 4),
            Pictures = 0,
            Channel = grey ? LightChannel.Red : null,
        };
        StreakStudy study = StreakStudy.Of(source, marked, streakOptions, progress, rough: null, tickScale: null, cancellationToken);
        try
        {
            RulerCheck? check = null;
            if (study.Motions is null)
            {
                progress?.Report(new AnalysisProgress("looking for the ruler", 0, null));
                check = RulerCheck.Of(photos, source, marked, study.Measurement.Band, study.StreakHalfWidthPx, cancellationToken);
                if (check is { Told: true, Moved.Count: > 0 })
                {
                    // The survey happened to see none of these; with them it follows the ruler.
                    study.Dispose();
                    source = new PhotoFrames(photos, grey, check.Moved);
                    study = StreakStudy.Of(source, marked, streakOptions, progress, rough: null, tickScale: null, cancellationToken);
                }
            }

            return Evaluate(photos, source, study, check, marks, options, findings, grey, progress, cancellationToken);
        }
        finally
        {
            study.Dispose();
        }
    }

    // Every photograph that can be read, with its place beside the first; the others become findings.
    private static List<SeriesPhoto> Gather(
        IReadOnlyList<PhotoInput> inputs, List<Finding> findings, IProgress<AnalysisProgress>? progress, CancellationToken cancellationToken)
    {
        var photos = new List<SeriesPhoto>(inputs.Count);
        PhotoShift? beside = null;
        UnusableInputException? last = null;
        try
        {
            for (int k = 0; k < inputs.Count; k++)
            {
                cancellationToken.ThrowIfCancellationRequested();
                progress?.Report(new AnalysisProgress("reading photograph", k + 1, inputs.Count));
                string name = Path.GetFileName(inputs[k].Path);
                try
                {
                    byte[] bytes = PhotoFile.BytesOf(inputs[k].Path);
                    PhotoFacts facts = PhotoFile.Inspect(inputs[k].Path, bytes);
                    if (photos.Count > 0 && SizeOf(facts) != SizeOf(photos[0].Facts))
                    {
                        findings.Add(FindingKinds.PhotoLeftOut.With(Text(
                            $"{name}: the upright picture has {SizeOf(facts).Width} x {SizeOf(facts).Height} px and {photos[0].Facts.Name}, to which the marks belong, {SizeOf(photos[0].Facts).Width} x {SizeOf(photos[0].Facts).Height} px; left out.")));
                        continue;
                    }

                    using PhotoPixels pixels = PhotoFile.Decode(facts, bytes);
                    (int u, int v) = (0, 0);
                    if (beside is null)
                        beside = new PhotoShift(pixels, facts.Orientation);
                    else
                        (u, v) = beside.Of(pixels);
                    photos.Add(new SeriesPhoto(facts with { IsGrey = pixels.IsGrey() }, inputs[k].FrequencyHz, u, v));
                }
                catch (UnusableInputException e)
                {
                    findings.Add(FindingKinds.PhotoLeftOut.With($"{name}: {e.Problem}; left out.") with { Advice = e.NextStep });
                    last = e;
                }
            }
        }
        finally
        {
            beside?.Dispose();
        }

        return photos.Count > 0 ? photos : throw (inputs.Count == 1 ? last! : new UnusableInputException(
            "the photographs", $"none of {inputs.Count} can be read; the last one says: {last!.Problem}", last.NextStep));
    }

    private static (int Width, int Height) SizeOf(PhotoFacts facts) => (facts.Orientation.DisplayWidth, facts.Orientation.DisplayHeight);

    private static PhotoAnalysis Evaluate(
        IReadOnlyList<SeriesPhoto> photos, PhotoFrames source, StreakStudy study, RulerCheck? check, IReadOnlyList<RulerMark> marks,
        AnalysisOptions options, List<Finding> findings, bool grey, IProgress<AnalysisProgress>? progress, CancellationToken cancellationToken)
    {
        StreakMeasurement measurement = study.Measurement;
        IReadOnlyList<RulerMotion>? motions = study.Motions;
        bool told = motions is not null || check is { Told: true };
        HashSet<int> lost = motions is null && told ? [.. check!.Lost] : [];
        TickSearch ticks = ClipAnalyzer.TickScaleOf(source.Facts, marks, options, measurement.Ruler, cancellationToken);
        RulerScale scale = ticks.Scale;

        // A photograph that was shifted roughly, but in which nobody can follow the ruler, is not where it seems to be.
        StreakReading[] readings = [.. measurement.Readings.Select((r, k) => r with { Flags = r.Flags | FlagsOf(r, k) })];
        OpticalLever? lever = options.DistanceMm is double distance
            ? new OpticalLever(new UncertainValue(distance, options.DistanceUncertaintyMm)) : null;
        AmplitudeSeries series = SeriesBuilder.Build(readings, scale, lever);
        double mmPerPx = scale.MiddleMillimetresPerPixel;
        bool few = photos.Count < EnoughPhotos;
        double offsetSpots = Math.Sqrt(
            Math.Pow(few ? FewOffsetInSpots : ClipAnalyzer.LengthOffsetInSpots, 2) + (grey ? Math.Pow(GreyOffsetInSpots, 2) : 0));
        double offsetMm = options.OffsetUncertaintyMm ?? (offsetSpots * measurement.SpotSigmaPx * mmPerPx);
        PhotoResultRecord[] results =
            [.. series.Select((s, k) => ResultOf(photos[k], s, readings[k], scale, lever, offsetMm, FrequencyOf(k), ShiftOf(k)))];
        string csv = PhotosCsv.Write(results);
        string channel = grey ? "brightness" : measurement.Channel.ToString().ToLowerInvariant();
        var record = new AnalysisRecord
        {
            RecordVersion = AnalysisRecord.CurrentVersion,
            Program = ClipAnalyzer.ProgramOf(PhotoReader.LibraryName),
            Photos = [.. photos.Select(FileOf)],
            Marks = ResultRecords.Of(marks),
            Options = options,
            Result = new ResultRecord
            {
                Scale = ResultRecords.Of(scale, marks) with { Ticks = ticks.Found ? ClipAnalyzer.TicksOf(ticks) : null },
                Streak = new StreakRecord
                {
                    Channel = channel,
                    SpotSigmaPx = measurement.SpotSigmaPx,
                    BandOffsetPx = measurement.BandOffsetPx,
                    BandWidthPx = measurement.Band.WidthPx,
                },
                Series = new SeriesRecord
                {
                    Frames = series.Count,
                    UsableFrames = series.UsableCount,
                    Sha256 = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(csv))),
                },
                Photos = results,
                Findings = ResultRecords.Ordered(
                [
                    .. findings,
                    .. few ? (Finding[])[FindingKinds.FewPhotographs.With(Text(
                        $"With {photos.Count} of them, ambient light under the streak and the width of the spot are known from the streak itself alone; the uncertainty allows for {FewOffsetInSpots * measurement.SpotSigmaPx * mmPerPx:0.00} mm."))] : [],
                    .. grey ? (Finding[])[FindingKinds.ColourAssumed.With(
                        "The photographs are grey and were taken for a colourless camera's: in one made grey afterwards brightness means something else, and "
                        + "streaks come out longer by up to a third of the spot's standard deviation. The uncertainty holds it.")] : [],
                    .. ClipAnalyzer.FindingsOf(marks, source.Facts.Orientation.DisplayWidth, source.Facts.Orientation.DisplayHeight),
                    .. ClipAnalyzer.FindingsOf(ticks),
                    .. PhotoFindings.Of(results, series, channel, measurement.SpotSigmaPx, told),
                ]),
            },
        };
        IReadOnlyList<StreakPicture> pictures =
            Pictures(photos, measurement.Band, motions, grey, source.Facts.Orientation, progress, cancellationToken);
        return new PhotoAnalysis(record, scale, readings, series, pictures);

        FrameFlags FlagsOf(StreakReading reading, int photo)
        {
            FrameFlags flags = FrameFlags.None;
            if (lost.Contains(photo) || (!told && (photos[photo].ShiftU, photos[photo].ShiftV) != (0, 0)))
                flags |= FrameFlags.RulerLost;
            if (photos[photo].Facts.ExposureSeconds * FrequencyOf(photo) < 1)
                flags |= FrameFlags.PartialExposure;
            double border = BorderSigma * measurement.SpotSigmaPx;
            foreach (PicturePoint end in new[] { reading.ThresholdFirstEnd, reading.ThresholdSecondEnd }.OfType<PicturePoint>())
            {
                // A shifted photograph ends elsewhere than the band does.
                PicturePoint moved = motions is null ? end : motions[photo].ToFrame(end);
                double u = moved.UPx + photos[photo].ShiftU, v = moved.VPx + photos[photo].ShiftV;
                (int width, int height) = SizeOf(photos[photo].Facts);
                if (!(u >= border && v >= border && u <= width - 1 - border && v <= height - 1 - border))
                    flags |= FrameFlags.CutOff;
            }

            return flags;
        }

        double? FrequencyOf(int photo) => photos[photo].FrequencyHz ?? options.FrequencyHz;

        (double U, double V) ShiftOf(int photo) => motions is null
            ? (photos[photo].ShiftU, photos[photo].ShiftV)
            : (photos[photo].ShiftU + motions[photo].ShiftUPx, photos[photo].ShiftV + motions[photo].ShiftVPx);
    }

    private static PhotoResultRecord ResultOf(
        SeriesPhoto photo, AmplitudeSample sample, StreakReading reading, RulerScale scale, OpticalLever? lever, double offsetMm,
        double? frequencyHz, (double U, double V) shift)
    {
        double combined = double.NaN;
        if (reading is { FirstEnd: { } first, SecondEnd: { } second })
        {
            double scaleMm = scale.LengthBudget(first, second).CombinedMm / 2;
            combined = Math.Sqrt(Math.Pow(sample.AmplitudeUncertaintyMm, 2) + (offsetMm * offsetMm) + (scaleMm * scaleMm));
        }

        return new PhotoResultRecord
        {
            File = photo.Facts.Name,
            FrequencyHz = frequencyHz,
            ExposureS = photo.Facts.ExposureSeconds,
            ExposurePeriods = photo.Facts.ExposureSeconds * frequencyHz,
            LeftMm = Finite(sample.LeftMm),
            RightMm = Finite(sample.RightMm),
            LengthMm = Finite(sample.LengthMm),
            AmplitudeMm = Finite(sample.AmplitudeMm),
            AmplitudeUncertaintyMm = Finite(sample.AmplitudeUncertaintyMm),
            CombinedUncertaintyMm = Finite(combined),
            ThresholdAmplitudeMm = Finite(sample.ThresholdAmplitudeMm),
            AmplitudeMrad = Finite(sample.AmplitudeMrad),
            AmplitudeUncertaintyMrad = lever is null ? null
                : Finite(lever.Sensitivities(sample.AmplitudeMm).MradPerMm * sample.AmplitudeUncertaintyMm),
            Brightness = Finite(sample.Brightness),
            ShiftUPx = shift.U,
            ShiftVPx = shift.V,
            Flags = sample.Flags == FrameFlags.None ? [] : sample.Flags.ToString().Split(", "),
            Usable = sample.IsUsable,
        };
    }

    private static PhotoFileRecord FileOf(SeriesPhoto photo) => new()
    {
        File = photo.Facts.Name,
        Sha256 = photo.Facts.Sha256,
        Bytes = photo.Facts.Bytes,
        Format = photo.Facts.Format,
        WidthPx = photo.Facts.Orientation.DisplayWidth,
        HeightPx = photo.Facts.Orientation.DisplayHeight,
        Orientation = photo.Facts.OrientationTag,
        ExposureS = photo.Facts.ExposureSeconds,
        FrequencyHz = photo.FrequencyHz,
    };

    // The band of each photograph, for the eye.
    private static List<StreakPicture> Pictures(
        IReadOnlyList<SeriesPhoto> photos, StripGeometry band, IReadOnlyList<RulerMotion>? motions, bool grey, DisplayOrientation orientation,
        IProgress<AnalysisProgress>? progress, CancellationToken cancellationToken)
    {
        double farthest = motions?.Max(m => Math.Max(Math.Abs(m.ShiftUPx), Math.Abs(m.ShiftVPx))) ?? 0;
        PixelRegion region = band.Region(Math.Max(8, band.HalfWidthPx / 2) + (int)Math.Ceiling(farthest));
        int count = Math.Min(photos.Count, MostPictures);
        var pictures = new List<StreakPicture>(count);
        for (int k = 0; k < count; k++)
        {
            cancellationToken.ThrowIfCancellationRequested();
            progress?.Report(new AnalysisProgress("picture", k + 1, count));
            int photo = count == 1 ? 0 : (int)((long)k * (photos.Count - 1) / (count - 1));
            var frame = new RawFrame();
            photos[photo].Read(frame, photo, region, greyIsRed: false);
            pictures.Add(PictureKeeper.Develop((frame, motions?[photo]), orientation, PhotoPixels.Colour));
        }

        return pictures;
    }

    private static double? Finite(double value) => double.IsFinite(value) ? value : null;

    private static string Text(FormattableString text) => text.ToString(CultureInfo.InvariantCulture);
}
