extern alias load;

using Hotlight.Testing;
using load::Hotlight.Load;

namespace Hotlight.Web.Tests;

/// <summary>Readers and uploaders at work on one bench at once: the short form of bench/load, which asks for errors and not for times.</summary>
public sealed class LoadTests
{
    [Fact]
    public async Task Bench_WithReadersAndUploadersAtOnce_AnswersAllOfThemWithoutAnError()
    {
        using var folder = new ScratchFolder();

        LoadReport report = await LoadRun.RunAsync(new LoadPlan
        {
            Bench = Path.Combine(AppContext.BaseDirectory, "Hotlight.Web.dll"),
            Data = folder["data"],
            Cases = 3,
            Readers = 6,
            Uploaders = 2,
            Pages = 0,
            Time = TimeSpan.FromSeconds(15),
            Pause = TimeSpan.FromMilliseconds(500),
            WorkerDiesEvery = TimeSpan.FromSeconds(5),
        }, TextWriter.Null);

        Assert.Empty(report.Errors);
        Assert.Equal(0, report.LeftInQueue);
        Assert.Contains(report.Took, act => act.What == "image, whole");
        Assert.Contains(report.Took, act => act.What == "upload: finish, with measuring");
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Slope_OfMemoryThatGrowsByAMebibyteAMinute_IsSixtyAnHour()
    {
        var report = new LoadReport(new LoadPlan { Bench = "", Data = "" }, [], [], [.. Enumerable.Range(0, 20).Select(point => (point * 30.0, 100 + (point * 0.5)))], 0, 0, 0);

        Assert.Equal(60, report.Slope.PerHour, 1e-6);
        Assert.Equal(0, report.Slope.Plus, 1e-6);
    }
}
