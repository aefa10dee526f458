using System.Buffers;

namespace StreakTrack.Imaging.Streaks;

/// <summary>The profiles of a clip, as they were taken or straightened.</summary>
/// <param name="store">The profiles as they were taken.</param>
/// <param name="straight">How to straighten them; null for not at all.</param>
/// <remarks>Reading is safe from several threads.</remarks>
internal sealed class ProfileView(ProfileStore store, StraightRuler? straight)
{
    /// <summary>Profiles.</summary>
    public int Count => store.Count;

    /// <summary>Samples of a profile.</summary>
    public int Length { get; } = straight?.Length ?? store.Length;

    /// <summary>Reads a profile.</summary>
    /// <param name="index">Which, from 0.</param>
    /// <param name="profile">Receives it; at least <see cref="Length"/> long.</param>
    public void Read(int index, Span<float> profile)
    {
        if (straight is null)
        {
            store.Read(index, profile);
            return;
        }

        float[] taken = ArrayPool<float>.Shared.Rent(store.Length);
        store.Read(index, taken);
        straight.Straighten(taken.AsSpan(0, store.Length), profile);
        ArrayPool<float>.Shared.Return(taken);
    }
}
