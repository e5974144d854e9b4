using Hotlight.Core;
using Hotlight.Testing;

namespace Hotlight.Imaging.Tests;

public sealed class RadiographReaderTests
{
    public static TheoryData<string> MalformedFiles()
    {
        TheoryData<string> names = [];
        if (Directory.Exists(SharedData.Folder("malformed")))
        {
            foreach (string file in SharedData.Files("malformed"))
            {
                names.Add(Path.GetFileName(file));
            }
        }
        else
        {
            names.Add("none");
        }

        return names;
    }

    public static TheoryData<string> Radiographs()
    {
        TheoryData<string> names = [];
        foreach (string folder in new[] { "radiographs-photo", "radiographs-dicom", "phantoms" })
        {
            if (Directory.Exists(SharedData.Folder(folder)))
            {
                foreach (string file in SharedData.Files(folder))
                {
                    names.Add(folder + "/" + Path.GetFileName(file));
                }
            }
        }

        if (!Directory.Exists(SharedData.Folder("radiographs-photo")))
        {
            names.Add("none");
        }

        return names;
    }

    [SharedDataTheory("malformed")]
    [MemberData(nameof(MalformedFiles))]
    public void Read_MalformedFile_EndsInAnImageOrOneSentence(string name)
    {
        // docs/methods/reading.md#malformed lists what each comes to; these two are whole images of a kind Hotlight judges.
        bool isImage = name is "OutOfBoundsOverlay.dcm" or "image_dfl.dcm";
        using CancellationTokenSource patience = new(TimeSpan.FromMinutes(1));
        try
        {
            Radiograph radiograph = RadiographReader.Read(Path.Combine(SharedData.Folder("malformed"), name), patience.Token);
            Assert.True(isImage, name + " was read");
            Assert.Equal(name, radiograph.FileName);
        }
        catch (UnreadableImageException error)
        {
            Assert.False(isImage, error.Message);
            Dicom.FixtureTests.AssertOneSentence(error);
            Assert.Equal(name, error.FileName);
        }
    }

    [SharedDataTheory("radiographs-photo")]
    [MemberData(nameof(Radiographs))]
    public void Read_OpenRadiograph_IsRead(string name)
    {
        if (!Dicom.FixtureTests.HasOpenJpeg && (name.Contains("J2K") || name.Contains("Kakadu")))
        {
            return;
        }

        if (name.EndsWith("chrJapMulti.dcm", StringComparison.Ordinal))
        {
            // It has a header and no pixels.
            Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(Path.Combine(SharedData.Root, name)));
            return;
        }

        Radiograph radiograph = RadiographReader.Read(Path.Combine(SharedData.Root, name));
        Assert.True(radiograph.Rows > 1 && radiograph.Columns > 1);
        Assert.All(radiograph.Remarks, remark => Assert.EndsWith(".", remark));
    }

    [Fact]
    public void Read_EmptyFile_SaysSo() => Assert.Equal("the file is empty.", Refusal([]));

    [Fact]
    public void Read_Text_SaysSo() => Assert.Equal("it is a text file; Hotlight reads DICOM, PNG, TIFF and JPEG.", Refusal("Dear radiographer, this is no image at all.\n"u8.ToArray()));

    [Fact]
    public void Read_RandomBytes_SaysSo()
    {
        byte[] bytes = new byte[5000];
        new Random(3).NextBytes(bytes);
        Assert.Equal("it is of no kind Hotlight knows; it reads DICOM, PNG, TIFF and JPEG.", Refusal(bytes));
    }

    [Fact]
    public void Read_Zeros_SaysSo() => Assert.Equal("it is of no kind Hotlight knows; it reads DICOM, PNG, TIFF and JPEG.", Refusal(new byte[4096]));

    [Fact]
    public void Read_Folder_SaysSo()
        => Assert.Equal("it is a folder, not a file.", Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(AppContext.BaseDirectory)).Reason);

    [Fact]
    public void Read_MissingFile_SaysSo()
        => Assert.Equal("there is no such file.", Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(Path.Combine(AppContext.BaseDirectory, "nowhere", "a.dcm"))).Reason);

    [Fact]
    public void Read_FileWithoutPermission_SaysSo()
    {
        if (OperatingSystem.IsWindows() || Environment.UserName == "root")
        {
            // Root may read everything, so there is nothing to refuse.
            return;
        }

        string path = Path.Combine(Path.GetTempPath(), Path.GetRandomFileName());
        File.WriteAllBytes(path, [1, 2, 3]);
        try
        {
            File.SetUnixFileMode(path, UnixFileMode.None);
            Assert.Equal("it may not be read: permission is denied.", Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(path)).Reason);
        }
        finally
        {
            File.Delete(path);
        }
    }

    [Fact]
    public void Read_Cancelled_Stops()
    {
        using CancellationTokenSource cancelled = new();
        cancelled.Cancel();
        Assert.ThrowsAny<OperationCanceledException>(() => RadiographReader.Read(new byte[10], "a", cancelled.Token));
    }

    private static string Refusal(byte[] content) => Assert.Throws<UnreadableImageException>(() => RadiographReader.Read(content, "a")).Reason;
}
