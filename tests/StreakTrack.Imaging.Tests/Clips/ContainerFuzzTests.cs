using System.Globalization;
using StreakTrack.Core;
using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Tests.Clips;

/// <summary>Seeded mutations of small clips: whatever a file holds, it is either read or refused with a message.</summary>
/// <remarks>STREAKTRACK_FUZZ_ROUNDS sets another number of mutations a file, for a longer run by hand.</remarks>
public sealed class ContainerFuzzTests : IDisposable
{
    // More than any healthy file among the fixtures needs, and far less than a clip's own size field could ask for.
    private const long MaxAllocatedBytes = 64 << 20;

    private static readonly int Rounds =
        int.TryParse(Environment.GetEnvironmentVariable("STREAKTRACK_FUZZ_ROUNDS"), CultureInfo.InvariantCulture, out int rounds) ? rounds : 300;

    private readonly TemporaryFolder _folder = new();

    [Theory]
    [InlineData("plain.mp4")]
    [InlineData("two_pieces.mp4")]
    [InlineData("slow_motion.mp4")]
    [InlineData("fragmented.mp4")]
    [InlineData("hevc10.mp4")]
    [InlineData("uneven.mkv")]
    [InlineData("vp9.webm")]
    [InlineData("mpeg4.avi")]
    public void A_mutated_container_is_read_or_refused_with_bounded_memory(string name)
    {
        byte[] original = File.ReadAllBytes(SmallClips.PathOf(name));
        for (int seed = 0; seed < Rounds; seed++)
        {
            string path = _folder.Write("clip", Mutate(original, new Random(seed)));

            // Not a measurement of time: a limit that only a hang can reach.
            using var limit = new CancellationTokenSource(TimeSpan.FromSeconds(30));
            long before = GC.GetAllocatedBytesForCurrentThread();
            try
            {
                ClipFacts facts = ClipFile.Inspect(path, limit.Token);
                Assert.True(facts.Orientation.CodedWidth > 0 && double.IsFinite(facts.StartSeconds), $"seed {seed}: {facts}");
            }
            catch (UnusableInputException)
            {
                // Refused with a message.
            }
            catch (Exception e)
            {
                Assert.Fail($"seed {seed}: {e}");
            }

            long allocated = GC.GetAllocatedBytesForCurrentThread() - before;
            Assert.True(allocated < MaxAllocatedBytes, $"seed {seed} took {allocated} bytes");
        }
    }

    [Theory]
    [InlineData("plain.mp4")]
    [InlineData("uneven.mkv")]
    public void A_mutated_clip_is_decoded_or_refused_by_the_child_process(string name)
    {
        byte[] original = File.ReadAllBytes(SmallClips.PathOf(name));
        var frame = new RawFrame();
        for (int seed = 0; seed < Rounds / 20; seed++)
        {
            string path = _folder.Write("clip", Mutate(original, new Random(seed)));
            try
            {
                ClipFacts facts = ClipFile.Inspect(path);
                using IFrameReader reader = ClipFile.OpenReader(facts, new FrameReaderOptions { Reader = ReaderChoice.Ffmpeg });
                int frames = 0;
                while (reader.TryRead(frame))
                    frames++;
                Assert.InRange(frames, 1, 1000);
            }
            catch (UnusableInputException)
            {
                // Refused with a message.
            }
        }
    }

    public void Dispose() => _folder.Dispose();

    private static byte[] Mutate(byte[] original, Random random)
    {
        var bytes = new List<byte>(original);
        for (int change = random.Next(1, 6); change > 0; change--)
        {
            int at = random.Next(bytes.Count);
            switch (random.Next(7))
            {
                case 0:
                    bytes[at] ^= (byte)(1 << random.Next(8));
                    break;
                case 1:
                    bytes[at] = (byte)random.Next(256);
                    break;
                case 2:
                    bytes[at] = 255;
                    break;
                case 3:
                    // A whole number, where sizes and counts are.
                    for (int i = at & ~3; i < Math.Min(bytes.Count, (at & ~3) + 4); i++)
                        bytes[i] = random.Next(2) == 0 ? (byte)255 : (byte)0;
                    break;
                case 4:
                    bytes.RemoveRange(at, Math.Min(random.Next(1, 64), bytes.Count - at));
                    break;
                case 5:
                    bytes.InsertRange(at, bytes.GetRange(at, Math.Min(random.Next(1, 64), bytes.Count - at)));
                    break;
                default:
                    if (random.Next(4) == 0)
                        bytes.RemoveRange(at, bytes.Count - at);
                    break;
            }

            if (bytes.Count == 0)
                return [0];
        }

        return [.. bytes];
    }
}
