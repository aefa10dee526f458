namespace StreakTrack.Synthesis.Rendering;

/// <summary>A picture in linear light, 1 = full scale, row by row, in the orientation as stored.</summary>
public sealed class LinearPicture
{
    /// <summary>A black picture.</summary>
    /// <param name="width">Columns.</param>
    /// <param name="height">Rows.</param>
    public LinearPicture(int width, int height)
    {
        Width = width;
        Height = height;
        Red = new float[width * height];
        Green = new float[width * height];
        Blue = new float[width * height];
    }

    /// <summary>Columns.</summary>
    public int Width { get; }

    /// <summary>Rows.</summary>
    public int Height { get; }

    /// <summary>Red light, row by row.</summary>
    public float[] Red { get; }

    /// <summary>Green light, row by row.</summary>
    public float[] Green { get; }

    /// <summary>Blue light, row by row.</summary>
    public float[] Blue { get; }

    internal void CopyFrom(LinearPicture other, float factor)
    {
        Scale(other.Red, Red, factor);
        Scale(other.Green, Green, factor);
        Scale(other.Blue, Blue, factor);
    }

    private static void Scale(float[] from, float[] to, float factor)
    {
        for (int i = 0; i < to.Length; i++)
            to[i] = from[i] * factor;
    }
}
