using Hotlight.Testing;

namespace Hotlight.Hostile;

/// <summary>The short form of the search for inputs that break a reader: fixed seeds, and every input that ever did. The long form is bench/hostile.</summary>
public sealed class HostileInputTests
{
    // HOTLIGHT_HOSTILE_ROUNDS makes it longer.
    private static readonly int RoundsForEach = int.TryParse(Environment.GetEnvironmentVariable("HOTLIGHT_HOSTILE_ROUNDS"), out int rounds) ? rounds : 250;

    public static TheoryData<string> Targets => [.. HostileTarget.All.Select(target => target.Name)];

    public static TheoryData<string> Found => [.. Directory.EnumerateFiles(Folder, "*", SearchOption.AllDirectories)
        .Where(file => Path.GetFileName(file) != "README.md").Select(file => Path.GetRelativePath(Folder, file)).Order(StringComparer.Ordinal)];

    private static string Folder => Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "hostile");

    [Theory]
    [MemberData(nameof(Targets))]
    public void Read_DamagedInputs_AreRefusedWithASentenceOrRead(string name)
    {
        HostileTarget target = HostileTarget.All.Single(each => each.Name == name);
        byte[][] seeds = [.. target.Seeds(SharedData.RepositoryRoot)];
        Assert.NotEmpty(seeds);
        foreach (byte[] seed in seeds)
        {
            target.Check(seed);
        }

        Random random = new(20261127);
        for (int round = 0; round < RoundsForEach; round++)
        {
            byte[] damaged = Mutation.Of(seeds[round % seeds.Length], seeds[random.Next(seeds.Length)], random);
            Exception? error = Record.Exception(() => target.Check(damaged));
            Assert.True(error is null, $"{name}, round {round}: {error}");
        }
    }

    [Theory]
    [MemberData(nameof(Found))]
    public void Read_InputThatOnceBrokeAReader_DoesSoNoMore(string file)
        => HostileTarget.All.Single(target => target.Name == Path.GetDirectoryName(file)).Check(File.ReadAllBytes(Path.Combine(Folder, file)));
}
