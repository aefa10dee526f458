using System.Numerics;
using System.Runtime.InteropServices;
using System.Text;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using StreakTrack.Core.Findings;
using StreakTrack.Core.Scale;
using StreakTrack.Imaging.Clips;
using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Streaks;

/// <summary>Writes and reads what the pass over a clip has found. The layout follows the types and belongs to one build of the program; whoever
/// keeps such a file keeps with it which build wrote it.</summary>
internal static class StudyStream
{
    private const int MaxPictureBytes = 1 << 26, MaxList = 1 << 16, MaxSamples = 1 << 29;

    /// <summary>Writes.</summary>
    public static void Write(Stream stream, StreakSurvey survey, ClipPass pass, StreakOptions options, CancellationToken cancellationToken)
    {
        using var writer = new BinaryWriter(stream, Encoding.UTF8, leaveOpen: true);
        Write(writer, options);
        Write(writer, survey);
        writer.Write(pass.LostFrames);
        writer.Write(pass.ReaderName);
        writer.Write(pass.ReaderFindings.Count);
        foreach (Finding finding in pass.ReaderFindings)
        {
            writer.Write(finding.Code);
            writer.Write((int)finding.Severity);
            writer.Write(finding.Message);
            writer.Write(finding.Advice);
        }

        writer.Write(pass.Pictures.Count);
        foreach (StreakPicture picture in pass.Pictures)
            Write(writer, picture);
        writer.Write(pass.Frames.Count);
        float[] profile = new float[survey.Band.LengthPx];
        foreach (PassedFrame frame in pass.Frames)
        {
            cancellationToken.ThrowIfCancellationRequested();
            Write(writer, frame);
            pass.Profiles.Read(frame.Index, profile);
            writer.Write(MemoryMarshal.AsBytes(profile.AsSpan()));
        }
    }

    /// <summary>Reads. The caller disposes of the pass.</summary>
    /// <exception cref="IOException">It ends early.</exception>
    /// <exception cref="InvalidDataException">It is something else.</exception>
    /// <exception cref="FormatException">A text in it has no length that can be.</exception>
    /// <exception cref="ImageFormatException">A picture in it cannot be read.</exception>
    public static (StreakSurvey Survey, ClipPass Pass, StreakOptions Options) Read(Stream stream, ClipFacts facts, CancellationToken cancellationToken)
    {
        using var reader = new BinaryReader(stream, Encoding.UTF8, leaveOpen: true);
        StreakOptions options = ReadOptions(reader);
        StreakSurvey survey = ReadSurvey(reader, facts.Orientation);
        int lostFrames = reader.ReadInt32();
        string readerName = reader.ReadString();
        var findings = new Finding[Count(reader, MaxList)];
        for (int i = 0; i < findings.Length; i++)
            findings[i] = new Finding(reader.ReadString(), (FindingSeverity)reader.ReadInt32(), reader.ReadString(), reader.ReadString());
        var pictures = new StreakPicture[Count(reader, MaxList)];
        for (int i = 0; i < pictures.Length; i++)
            pictures[i] = ReadPicture(reader);
        int count = Count(reader, int.MaxValue);
        var frames = new List<PassedFrame>();
        var profiles = new ProfileStore(survey.Band.LengthPx);
        try
        {
            float[] profile = new float[survey.Band.LengthPx];
            for (int index = 0; index < count; index++)
            {
                cancellationToken.ThrowIfCancellationRequested();
                frames.Add(ReadFrame(reader, index));
                stream.ReadExactly(MemoryMarshal.AsBytes(profile.AsSpan()));
                profiles.Add(profile);
            }

            return (survey, ClipPass.Restored(profiles, frames, pictures, lostFrames, readerName, findings), options);
        }
        catch
        {
            profiles.Dispose();
            throw;
        }
    }

    private static void Write(BinaryWriter writer, StreakOptions options)
    {
        writer.Write(options.SearchHalfWidthPx ?? -1);
        writer.Write(options.SearchOffsetPx);
        writer.Write(options.ThresholdFraction);
        writer.Write(options.SmallestHalfLengthSigma);
        writer.Write(options.SurveyFrames);
        writer.Write(options.Pictures);
        writer.Write(options.Channel is LightChannel channel ? (int)channel : -1);
        writer.Write(options.SeparateExposures);
        writer.Write((int)options.Reader);
        writer.Write(options.FrequencyHz ?? double.NaN);
    }

    private static StreakOptions ReadOptions(BinaryReader reader) => new()
    {
        SearchHalfWidthPx = Given(reader.ReadInt32()),
        SearchOffsetPx = reader.ReadDouble(),
        ThresholdFraction = reader.ReadDouble(),
        SmallestHalfLengthSigma = reader.ReadDouble(),
        SurveyFrames = reader.ReadInt32(),
        Pictures = reader.ReadInt32(),
        Channel = Given(reader.ReadInt32()) is int channel ? (LightChannel)channel : null,
        SeparateExposures = reader.ReadBoolean(),
        Reader = (ReaderChoice)reader.ReadInt32(),
        FrequencyHz = reader.ReadDouble() is var frequency && double.IsNaN(frequency) ? null : frequency,
    };

    private static void Write(BinaryWriter writer, StreakSurvey survey)
    {
        (double originX, double originY, double axisX, double axisY) = survey.Band.Line;
        writer.Write(originX);
        writer.Write(originY);
        writer.Write(axisX);
        writer.Write(axisY);
        writer.Write(survey.Band.LengthPx);
        writer.Write(survey.Band.HalfWidthPx);
        writer.Write(survey.OffsetPx);
        writer.Write((int)survey.Channel);
        writer.Write(survey.Across.SigmaPx);
        Write(writer, survey.Across.Weights);
        Write(writer, survey.Ambient);
        writer.Write(survey.ClipLevel);
        writer.Write(survey.Ruler.Width);
        writer.Write(survey.Ruler.Height);
        writer.Write(survey.Ruler.OffsetU);
        writer.Write(survey.Ruler.OffsetV);
        Write(writer, survey.Ruler.Samples);
    }

    private static StreakSurvey ReadSurvey(BinaryReader reader, DisplayOrientation orientation)
    {
        var band = new StripGeometry(
            orientation, reader.ReadDouble(), reader.ReadDouble(), reader.ReadDouble(), reader.ReadDouble(), Count(reader, MaxSamples), Count(reader, MaxSamples));
        double offset = reader.ReadDouble();
        var channel = (LightChannel)reader.ReadInt32();
        double acrossSigma = reader.ReadDouble();
        var across = new AcrossShape(ReadSamples(reader), acrossSigma);
        float[] ambient = ReadSamples(reader);
        float clipLevel = reader.ReadSingle();
        int width = Count(reader, MaxSamples), height = Count(reader, MaxSamples), offsetU = reader.ReadInt32(), offsetV = reader.ReadInt32();
        float[] ruler = ReadSamples(reader);
        if ((long)width * height != ruler.Length)
            throw Damaged();

        // Where the ruler went is noted frame by frame; nothing is followed any more.
        return new StreakSurvey(
            band, offset, channel, across, ambient, clipLevel, tracking: null,
            Task.FromResult(new RulerPicture(ruler, width, height, offsetU, offsetV)));
    }

    private static void Write(BinaryWriter writer, StreakPicture picture)
    {
        using var png = new MemoryStream();
        picture.Picture.SaveAsPng(png);
        writer.Write(picture.Frame);
        Matrix3x2 m = picture.DisplayToPicture;
        foreach (float value in new[] { m.M11, m.M12, m.M21, m.M22, m.M31, m.M32 })
            writer.Write(value);
        writer.Write((int)png.Length);
        writer.Write(png.GetBuffer(), 0, (int)png.Length);
    }

    private static StreakPicture ReadPicture(BinaryReader reader)
    {
        int frame = reader.ReadInt32();
        var matrix = new Matrix3x2(
            reader.ReadSingle(), reader.ReadSingle(), reader.ReadSingle(), reader.ReadSingle(), reader.ReadSingle(), reader.ReadSingle());
        byte[] png = reader.ReadBytes(Count(reader, MaxPictureBytes));
        return new StreakPicture(frame, Image.Load<Rgb24>(png), matrix);
    }

    private static void Write(BinaryWriter writer, PassedFrame frame)
    {
        writer.Write(frame.TimeSeconds);
        writer.Write(frame.ClippedSamples);
        writer.Write(frame.Gain);
        writer.Write(frame.Change);
        writer.Write(frame.AcrossSigmaPx);
        writer.Write(frame.Motion.HasValue);
        if (frame.Motion is not RulerMotion m)
            return;
        foreach (double value in new[]
            { m.Centre.UPx, m.Centre.VPx, m.ShiftUPx, m.ShiftVPx, m.UU, m.UV, m.VU, m.VV, m.Gain, m.Correlation, m.ShiftUncertaintyPx })
        {
            writer.Write(value);
        }

        writer.Write(m.Followed);
    }

    private static PassedFrame ReadFrame(BinaryReader reader, int index)
    {
        double time = reader.ReadDouble();
        int clipped = reader.ReadInt32();
        double gain = reader.ReadDouble(), change = reader.ReadDouble(), acrossSigma = reader.ReadDouble();
        RulerMotion? motion = reader.ReadBoolean()
            ? new RulerMotion(new PicturePoint(reader.ReadDouble(), reader.ReadDouble()), reader.ReadDouble(), reader.ReadDouble(), reader.ReadDouble(),
                reader.ReadDouble(), reader.ReadDouble(), reader.ReadDouble(), reader.ReadDouble(), reader.ReadDouble(), reader.ReadDouble(),
                reader.ReadBoolean())
            : null;
        return new PassedFrame(index, time, clipped, gain, motion, change, acrossSigma);
    }

    private static void Write(BinaryWriter writer, ReadOnlySpan<float> samples)
    {
        writer.Write(samples.Length);
        writer.Write(MemoryMarshal.AsBytes(samples));
    }

    private static float[] ReadSamples(BinaryReader reader)
    {
        float[] samples = new float[Count(reader, MaxSamples)];
        reader.BaseStream.ReadExactly(MemoryMarshal.AsBytes(samples.AsSpan()));
        return samples;
    }

    private static int? Given(int value) => value < 0 ? null : value;

    private static int Count(BinaryReader reader, int most) => reader.ReadInt32() is >= 0 and var count && count <= most ? count : throw Damaged();

    private static InvalidDataException Damaged() => new("The measurement that was kept is damaged.");
}
