using System.IO.Compression;
using StreakTrack.Core.Submissions;

namespace StreakTrack.Core.Tests.Submissions;

/// <summary>What strangers may put into a submission.</summary>
public sealed class SubmissionFilesTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("streaktrack-test-").FullName;

    private string Work => Path.Combine(_folder, "inner", "work");

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Clip_and_record_are_taken_from_any_depth_and_put_under_names_of_ours()
    {
        string zip = Zip(a =>
        {
            Put(a, "some where/My Clip.MP4", [1, 2, 3]);
            Put(a, "some where/result/record.json", "{}"u8.ToArray());
            Put(a, "notes.txt", [1]);
        });

        SubmissionFiles files = SubmissionFiles.Open(zip, Work);

        Assert.Equal(Path.Combine(Work, "clip.mp4"), files.ClipPath);
        Assert.Equal([1, 2, 3], File.ReadAllBytes(files.ClipPath!));
        Assert.Equal(["clip.mp4", "record.json"], Directory.GetFiles(Work).Select(Path.GetFileName).Order());
    }

    [Theory]
    [InlineData("../clip.mp4")]
    [InlineData("a/../../clip.mp4")]
    [InlineData("/clip.mp4")]
    [InlineData("//server/clip.mp4")]
    [InlineData("..\\clip.mp4")]
    [InlineData("C:clip.mp4")]
    [InlineData("a\u0000.mp4")]
    [InlineData("a\u202Egpj.mp4")]
    [InlineData("a\u200B.mp4")]
    [InlineData("\u001b[2Jclip.mp4")]
    [InlineData("line\nbreak.mp4")]
    public void A_name_that_leads_out_or_hides_something_is_refused_and_said_plainly(string name)
    {
        string zip = Zip(a => Put(a, name, [1]));

        SubmissionRefusedException refused = Assert.Throws<SubmissionRefusedException>(() => SubmissionFiles.Open(zip, Work));

        Assert.DoesNotContain(refused.Message, char.IsControl);
        Assert.False(Directory.Exists(Work));
    }

    [Fact]
    public void A_link_in_an_archive_or_a_folder_is_refused()
    {
        string zip = Zip(a => Put(a, "clip.mp4", [1], attributes: unchecked((int)0xA1FF0000)));
        Assert.Throws<SubmissionRefusedException>(() => SubmissionFiles.Open(zip, Work));

        string folder = Directory.CreateDirectory(Path.Combine(_folder, "linked", "deeper")).FullName;
        Directory.CreateSymbolicLink(Path.Combine(folder, "away"), "/");
        Assert.Throws<SubmissionRefusedException>(() => SubmissionFiles.Open(Path.GetDirectoryName(folder)!, Work));

        string link = Path.Combine(_folder, "link.zip");
        File.CreateSymbolicLink(link, zip);
        Assert.Throws<SubmissionRefusedException>(() => SubmissionFiles.Open(link, Work));
    }

    [Fact]
    public void Far_too_much_data_is_refused_before_it_is_unpacked()
    {
        string bomb = Zip(a => Put(a, "clip.mp4", new byte[64 << 20]));
        Assert.Throws<SubmissionRefusedException>(() => SubmissionFiles.Open(bomb, Work));

        string many = Zip(a =>
        {
            for (int i = 0; i < 2001; i++)
                Put(a, $"{i}.txt", []);
        });
        Assert.Throws<SubmissionRefusedException>(() => SubmissionFiles.Open(many, Work));
        Assert.False(Directory.Exists(Work));
    }

    [Fact]
    public void An_entry_never_unpacks_to_more_than_it_states()
    {
        byte[] archive = File.ReadAllBytes(Zip(a => Put(a, "clip.mp4", new byte[100_000])));
        // The stated size stands in the central directory, 24 bytes after its signature PK 1 2.
        int at = archive.AsSpan().IndexOf("PK\u0001\u0002"u8);
        BitConverter.TryWriteBytes(archive.AsSpan(at + 24), 10);
        string path = Path.Combine(_folder, "lies.zip");
        File.WriteAllBytes(path, archive);

        Exception? refused = Record.Exception(() => SubmissionFiles.Open(path, Work));

        Assert.True(refused is null or SubmissionRefusedException or UnusableInputException, refused?.ToString());
        Assert.InRange(new FileInfo(Path.Combine(Work, "clip.mp4")).Length, 0, 10);
    }

    [Fact]
    public void Thousands_of_broken_archives_are_read_or_refused_and_nothing_else()
    {
        byte[] whole = File.ReadAllBytes(Zip(a =>
        {
            Put(a, "class/clip.mp4", [.. Enumerable.Range(0, 3000).Select(i => (byte)(i * i))]);
            Put(a, "class/record.json", [.. Enumerable.Repeat((byte)'{', 2000)]);
            Put(a, "readme.txt", [1, 2, 3]);
        }));
        var random = new Random(4711);
        string path = Path.Combine(_folder, "mutant.zip");
        int taken = 0, refused = 0;
        var faults = new List<string>();
        for (int i = 0; i < 4000; i++)
        {
            File.WriteAllBytes(path, Mutant(whole, random));
            try
            {
                SubmissionFiles.Open(path, Work);
                taken++;
            }
            catch (Exception e) when (e is SubmissionRefusedException or UnusableInputException)
            {
                refused++;
            }
            catch (Exception e)
            {
                faults.Add($"{i}: {e.GetType().Name}: {e.Message}");
            }
        }

        Assert.Empty(faults.Take(5));
        Assert.True(taken > 100 && refused > 1000, $"{taken} taken, {refused} refused");
        Assert.Equal(["inner", "mutant.zip"], Directory.GetFileSystemEntries(_folder).Select(Path.GetFileName).Where(n => !n!.StartsWith("made", StringComparison.Ordinal)).Order());
        Assert.Equal(["work"], Directory.GetFileSystemEntries(Path.Combine(_folder, "inner")).Select(Path.GetFileName));
    }

    // Bits, bytes of extreme value, whole fields and ends: most of what is wrong with an archive is wrong in its directory at the end.
    private static byte[] Mutant(byte[] whole, Random random)
    {
        byte[] bytes = [.. whole];
        int directory = whole.AsSpan().IndexOf("PK\u0001\u0002"u8);
        for (int n = random.Next(1, 4); n > 0; n--)
        {
            int at = random.Next(3) == 0 ? random.Next(bytes.Length) : directory + random.Next(bytes.Length - directory);
            switch (random.Next(4))
            {
                case 0:
                    bytes[at] ^= (byte)(1 << random.Next(8));
                    break;
                case 1:
                    bytes[at] = (byte)(random.Next(2) == 0 ? 0xFF : 0);
                    break;
                case 2:
                    bytes.AsSpan(at, Math.Min(4, bytes.Length - at)).Fill((byte)(random.Next(2) == 0 ? 0xFF : 0x7F));
                    break;
                default:
                    int length = random.Next(1, 40);
                    bytes.AsSpan(random.Next(bytes.Length - length), length).ToArray().AsSpan(0, Math.Min(length, bytes.Length - at)).CopyTo(bytes.AsSpan(at));
                    break;
            }
        }

        return random.Next(8) == 0 ? bytes[..random.Next(bytes.Length)] : bytes;
    }

    private string Zip(Action<ZipArchive> fill)
    {
        string path = Path.Combine(_folder, $"made{Guid.NewGuid():N}.zip");
        using ZipArchive archive = ZipFile.Open(path, ZipArchiveMode.Create);
        fill(archive);
        return path;
    }

    private static void Put(ZipArchive archive, string name, byte[] bytes, int attributes = 0)
    {
        ZipArchiveEntry entry = archive.CreateEntry(name);
        entry.ExternalAttributes = attributes;
        using Stream stream = entry.Open();
        stream.Write(bytes);
    }
}
