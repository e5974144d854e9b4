using Hotlight.Catalogue;
using Hotlight.Testing;
using Microsoft.AspNetCore.Builder;
using Microsoft.Extensions.DependencyInjection;

namespace Hotlight.Web.Tests;

public sealed class LanguageTests
{
    [Fact]
    public async Task StartAsync_InGerman_HasItsCatalogueInIt()
    {
        using var folder = new ScratchFolder();
        await using WebApplication bench = await Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, Language = "de" }, TextWriter.Null);
        Assert.Equal("Handgelenk p.a.", bench.Services.GetRequiredService<ProjectionCatalogue>().Get("wrist-pa").Name);
        await bench.StopAsync();
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
    }

    [Fact]
    public async Task StartAsync_LanguageWithoutTexts_IsRefusedInOneSentence()
    {
        using var folder = new ScratchFolder();
        BenchRefusedException refused = await Assert.ThrowsAsync<BenchRefusedException>(
            () => Bench.StartAsync(new BenchOptions { Port = 0, DataFolder = folder["data"], WithDemoCases = false, Language = "fr" }, TextWriter.Null));
        Assert.Equal("--language names one of de, en, es; there are no texts in 'fr'.", refused.Message);
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
    }

    [Fact]
    public void Parse_Language_IsTaken()
    {
        Assert.Equal("de", BenchOptions.Parse(["--language", "de"]).Language);
        Assert.Equal("en", BenchOptions.Parse([]).Language);
    }
}
