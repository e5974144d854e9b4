namespace Hotlight.Store.Tests;

public sealed class SuiteComplianceTests
{
    [Fact]
    public void RecordStoreSuite_EveryProviderProject_HasAClass()
    {
        string[] providers = [.. Directory.EnumerateDirectories(Path.Combine(Testing.SharedData.RepositoryRoot, "src"), "Hotlight.Store.*").Where(folder => Path.GetFileName(folder) != "Hotlight.Store")
            .Select(folder => Path.GetFileName(folder)["Hotlight.Store.".Length..])];
        string[] suites = [.. typeof(RecordStoreSuite).Assembly.GetTypes()
            .Where(type => type.IsSubclassOf(typeof(RecordStoreSuite))).Select(type => type.Name)];

        Assert.NotEmpty(providers);
        Assert.All(providers, provider => Assert.Contains($"{provider}RecordStoreTests", suites));
    }
}
