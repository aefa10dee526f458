using StreakTrack.Imaging.Clips;

namespace StreakTrack.Imaging.Tests.Clips;

public class EmbeddedDecoderTests
{
    [Fact]
    public void The_library_that_the_loader_missed_is_named_with_the_packages_to_install()
    {
        // The form of the message that the .NET runtime gives on Linux, with its many places looked at.
        var loader = new DllNotFoundException("""
            Unable to load shared library 'OpenCvSharpExtern' or one of its dependencies.
            /app/runtimes/linux-x64/native/OpenCvSharpExtern.so: cannot open shared object file: No such file or directory
            libdrm.so.2: cannot open shared object file: No such file or directory
            /app/libOpenCvSharpExtern: cannot open shared object file: No such file or directory
            libdrm.so.2: cannot open shared object file: No such file or directory
            """);
        MissingComponentException told = EmbeddedDecoder.Missing(new TypeInitializationException("OpenCvSharp.Internal.NativeMethods", loader));
        Assert.Contains("needs libdrm.so.2, which", told.Message, StringComparison.Ordinal);
        Assert.Contains("libgtk-3-0 libdrm2 libatomic1", told.Message, StringComparison.Ordinal);
        Assert.DoesNotContain("OpenCvSharpExtern", told.Message, StringComparison.Ordinal);
    }
}
