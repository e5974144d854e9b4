extern alias kills;

using System.Globalization;
using Hotlight.Testing;
using kills::Hotlight.Kills;

namespace Hotlight.Web.Tests;

/// <summary>A program at work is killed at random moments, and what was acknowledged is there: the short form of bench/kills, two kills a kind; HOTLIGHT_KILLS says otherwise.</summary>
public sealed class KillTests
{
    private static readonly int Kills = int.Parse(Environment.GetEnvironmentVariable("HOTLIGHT_KILLS") ?? "2", CultureInfo.InvariantCulture);

    [Theory]
    [InlineData("critique")]
    [InlineData("import")]
    [InlineData("publishing")]
    [InlineData("migration")]
    [InlineData("backup")]
    [InlineData("queue")]
    public async Task Work_KilledAtRandomMoments_LosesNothingAcknowledged(string kind)
    {
        using var folder = new ScratchFolder();

        KillReport report = await KillRun.RunAsync(kind, new WorkPlace(folder["work"], null), Kills, 9, TextWriter.Null);

        Assert.Empty(report.Faults);
        Assert.Equal(Kills, report.Kills);
    }

    /// <summary>The looking over finds what is lost.</summary>
    [Theory]
    [InlineData("critique", "answers 999 9 0")]
    [InlineData("import", "case 6f1d0c52-58b4-4c19-9f0e-2f6f3a1f7c11 00")]
    [InlineData("publishing", "words 3 00")]
    [InlineData("backup", "act never")]
    public async Task LookingOver_WhatWasAcknowledgedIsNotThere_SaysSo(string kind, string said)
    {
        using var folder = new ScratchFolder();
        var place = new WorkPlace(folder["work"], null);
        await KillRun.RunAsync(kind, place, 0, 9, TextWriter.Null);
        var faults = new List<string>();

        await Work.Of(kind).CheckAsync(place, [said], faults);

        Assert.NotEmpty(faults);
    }
}
