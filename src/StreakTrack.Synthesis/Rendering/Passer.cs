using StreakTrack.Synthesis.Scenarios;

namespace StreakTrack.Synthesis.Rendering;

/// <summary>Somebody between camera and ruler: hides what is behind, and takes some of the room's light.</summary>
internal sealed class Passer(PasserSettings settings, ClipScenario scenario)
{
    /// <summary>Distance from the picture's middle, in picture widths, at which the shadow is a tenth: its edge in the picture.</summary>
    private const double TenthAt = 0.5;

    private readonly double _level = settings.Reflectance * scenario.Scene.AmbientLevel;

    /// <summary>Share of the room light that is kept from the ruler.</summary>
    public double ShadowAt(double timeSeconds)
    {
        double place = Place(timeSeconds) / TenthAt;
        return settings.ShadowShare * Math.Pow(10, -place * place);
    }

    /// <summary>Lays the passer over a picture.</summary>
    /// <param name="picture">The picture, beam and all.</param>
    /// <param name="timeSeconds">The frame's middle.</param>
    /// <param name="brightness">Exposure and gain beside the clip's first.</param>
    public void Cover(LinearPicture picture, double timeSeconds, double brightness)
    {
        double middle = (Place(timeSeconds) + 0.5) * (picture.Width - 1), half = settings.WidthShare * picture.Width / 2;
        var covered = new float[picture.Width];
        for (int u = 0; u < picture.Width; u++)
            covered[u] = (float)(Edge(u - (middle - half)) * Edge(middle + half - u));
        float[][] planes = [picture.Red, picture.Green, picture.Blue];
        for (int v = 0; v < picture.Height; v++)
        {
            var rows = (float)(settings.RowShare == 1 ? 1 : Edge(settings.RowShare * picture.Height - v));
            for (int c = 0; c < planes.Length && rows > 0; c++)
            {
                Span<float> row = planes[c].AsSpan(v * picture.Width, picture.Width);
                var light = (float)(_level * brightness * StaticScene.RoomTint[c]);
                for (int u = 0; u < row.Length; u++)
                    row[u] += rows * covered[u] * (light - row[u]);
            }
        }
    }

    // From the picture's middle, in picture widths.
    private double Place(double timeSeconds) => (timeSeconds - settings.TimeSeconds) / settings.CrossingSeconds;

    // A soft edge: 0 far below 0, 1 far above; a smooth cubic that has the blur's slope.
    private double Edge(double insidePx)
    {
        // A cubic step from -w to w rises by 3/4 of 1/w in its middle, a Gaussian's by 1/(sqrt(2 pi) sigma).
        double w = 0.75 * Math.Sqrt(2 * Math.PI) * settings.EdgeSigmaPx;
        double x = Math.Clamp((insidePx / w + 1) / 2, 0, 1);
        return x * x * (3 - 2 * x);
    }
}
