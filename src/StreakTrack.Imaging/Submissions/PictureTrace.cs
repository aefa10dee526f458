using StreakTrack.Imaging.Ruler;

namespace StreakTrack.Imaging.Submissions;

/// <summary>A perceptual fingerprint of what stands still in a clip: the fine structure of its usual picture on a coarse grid. Copies that were
/// trimmed or encoded again keep it; a camera that was moved between two takes, or another set-up, does not.</summary>
/// <remarks>Two takes with a camera that was not moved share it too, so a likeness is a hint and no more.</remarks>
public static class PictureTrace
{
    private const int Columns = 96, Rows = 54, PointsASide = 4, Reach = 2;

    /// <summary>Structure beyond this many times its usual size is cut, so that the streak alone does not decide.</summary>
    private const double Rim = 3;

    /// <summary>The fingerprint: numbers of zero mean and unit sum of squares; empty for a picture without structure.</summary>
    /// <param name="picture">The usual picture of the clip.</param>
    public static IReadOnlyList<double> Of(RulerPicture picture)
    {
        ArgumentNullException.ThrowIfNull(picture);
        double[,] blocks = new double[Rows, Columns];
        for (int row = 0; row < Rows; row++)
        {
            for (int column = 0; column < Columns; column++)
            {
                for (int k = 0; k < PointsASide * PointsASide; k++)
                {
                    double u = (column + (((k % PointsASide) + 0.5) / PointsASide)) / Columns * (picture.Width - 1);
                    double v = (row + (((k / PointsASide) + 0.5) / PointsASide)) / Rows * (picture.Height - 1);
                    blocks[row, column] += picture.At(picture.OffsetU + u, picture.OffsetV + v);
                }
            }
        }

        var fine = new List<double>();
        for (int row = Reach; row < Rows - Reach; row++)
        {
            for (int column = Reach; column < Columns - Reach; column++)
            {
                double around = 0;
                for (int i = -Reach; i <= Reach; i++)
                {
                    for (int j = -Reach; j <= Reach; j++)
                        around += blocks[row + i, column + j];
                }

                fine.Add(blocks[row, column] - (around / ((2 * Reach) + 1) / ((2 * Reach) + 1)));
            }
        }

        double usual = Math.Sqrt(fine.Average(x => x * x));
        double[] cut = [.. fine.Select(x => Math.Clamp(x, -Rim * usual, Rim * usual))];
        double mean = cut.Average();
        double norm = Math.Sqrt(cut.Sum(x => (x - mean) * (x - mean)));
        return norm > 0 ? [.. cut.Select(x => Math.Round((x - mean) / norm, 5))] : [];
    }
}
