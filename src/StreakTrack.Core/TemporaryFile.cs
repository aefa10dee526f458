using Microsoft.Win32.SafeHandles;

namespace StreakTrack.Core;

/// <summary>Files for what does not fit into memory. They go with their handle.</summary>
public static class TemporaryFile
{
    /// <summary>Opens an empty file for reading and writing, in the system's folder for temporary files.</summary>
    /// <exception cref="IOException">There is no such folder, or no room.</exception>
    public static SafeFileHandle Open()
    {
        string path = Path.Combine(Path.GetTempPath(), "streaktrack-" + Path.GetRandomFileName());

        // Elsewhere than on Windows an open file needs no name: without one it goes even when this process is killed.
        bool named = OperatingSystem.IsWindows();
        SafeFileHandle file = File.OpenHandle(
            path, FileMode.CreateNew, FileAccess.ReadWrite, FileShare.None, named ? FileOptions.DeleteOnClose : FileOptions.None);
        if (!named)
            File.Delete(path);
        return file;
    }
}
