using Hotlight.Measure;
using Hotlight.Measure.Document;
using Hotlight.Testing;
using Hotlight.Workflows.Measuring;

namespace Hotlight.Workflows.Tests.Measuring;

public sealed class MeasureAllTests : IDisposable
{
    private readonly ScratchFolder folder = new();
    private readonly MeasureOptions options = new();

    public void Dispose() => folder.Dispose();

    [Fact]
    public void RunAll_SeveralFilesAtOnce_GivesEachInItsPlaceAndAsAlone()
    {
        List<RadiographPath> paths = [.. Enumerable.Range(0, 5).Select(Exposure)];
        File.WriteAllText(folder["02b.txt"], "no image");
        paths.Insert(3, new RadiographPath(folder["02b.txt"], IsFound: true));

        List<MeasuredPath> all = [.. MeasureWorkflow.RunAll(paths, options)];

        Assert.Equal(paths, all.Select(one => one.Path));
        foreach (MeasuredPath one in all.Where(one => one.Measured is not null))
        {
            Assert.Equal(Text(MeasureWorkflow.Run(one.Path.Path, options).Document), Text(one.Measured!.Document));
        }

        MeasuredPath refused = Assert.Single(all, one => one.Measured is null);
        Assert.Equal(paths[3], refused.Path);
        Assert.NotNull(refused.Error);
    }

    [Fact]
    public void RunAll_LeftAfterTheFirst_LeavesNoFileOpenAndCanBeginAgain()
    {
        RadiographPath[] paths = [.. Enumerable.Range(0, 4).Select(Exposure)];

        MeasuredPath first = MeasureWorkflow.RunAll(paths, options).First();

        Assert.Equal(paths[0], first.Path);
        foreach (RadiographPath path in paths)
        {
            File.Delete(path.Path);
        }

        Assert.All(MeasureWorkflow.RunAll(paths, options), one => Assert.NotNull(one.Error));
    }

    [Fact]
    public void RunAll_Stopped_Throws()
    {
        RadiographPath[] paths = [.. Enumerable.Range(0, 3).Select(Exposure)];
        using var stop = new CancellationTokenSource();
        using IEnumerator<MeasuredPath> all = MeasureWorkflow.RunAll(paths, options, stop.Token).GetEnumerator();
        Assert.True(all.MoveNext());

        stop.Cancel();

        Assert.ThrowsAny<OperationCanceledException>(() => all.MoveNext());
    }

    [Theory]
    [InlineData(1, 1)]
    [InlineData(16_000_000, 1)]
    [InlineData(16_000_001, 2)]
    [InlineData(64_000_000, 3)]
    public void Enter_Image_TakesAPlaceForEverySixteenMillionPixels(long pixels, int places)
    {
        var room = new MeasuringRoom(3);

        Assert.Equal(places, room.Enter(pixels));
    }

    [Fact]
    public async Task Enter_NoRoomLeft_WaitsUntilOneLeaves()
    {
        var room = new MeasuringRoom(2);
        int taken = room.Enter(64_000_000);
        Task<int> waiting = Task.Run(() => room.Enter(1));
        Assert.False(waiting.IsCompleted);

        room.Leave(taken);

        Assert.Equal(1, await waiting);
        Assert.Equal(1, room.Enter(1));
    }

    private static string Text(MeasurementDocument document) => MeasurementJson.Write(document with { TimingMs = new TimingMs { Read = 0, Measure = 0 } });

    private RadiographPath Exposure(int number)
    {
        string path = folder[$"{number:00}.dcm"];
        InventedExposure.Write(InventedExposure.Limb(), path);
        return new RadiographPath(path, IsFound: true);
    }
}
