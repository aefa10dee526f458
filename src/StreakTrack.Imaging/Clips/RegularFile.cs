using StreakTrack.Core;

namespace StreakTrack.Imaging.Clips;

/// <summary>Settles the kind of a file before it is opened.</summary>
internal static class RegularFile
{
    /// <summary>The absolute path of an ordinary file that is not empty. Opening a pipe or a device can wait for ever; both report a size of
    /// zero.</summary>
    /// <param name="path">The file.</param>
    /// <param name="what">What it should be, for messages: "a clip".</param>
    /// <exception cref="UnusableInputException">It is something else, or not there.</exception>
    public static string Require(string path, string what)
    {
        string full = Path.GetFullPath(path);
        try
        {
            if (Directory.Exists(full))
                throw new UnusableInputException(path, $"this is a folder, not {what}", $"Name {what} inside it.");
            var file = new FileInfo(full);
            if (file.Exists && file.ResolveLinkTarget(returnFinalTarget: true) is FileInfo target)
                file = target;
            if (!file.Exists)
                throw new UnusableInputException(path, "there is no such file", "Check the path.");
            if (file.Length == 0)
                throw new UnusableInputException(path, "the file is empty, or is not an ordinary file", "Copy the file from the camera again.");
            return full;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new UnusableInputException(path, "the file cannot be read: " + e.Message.TrimEnd('.'), "Check the file and its permissions.", e);
        }
    }
}
