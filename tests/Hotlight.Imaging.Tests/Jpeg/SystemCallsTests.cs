using System.Globalization;
using Hotlight.Testing;
using Hotlight.Worker;

namespace Hotlight.Imaging.Tests.Jpeg;

/// <summary>The numbers of the worker's filter against Debian's kernel headers (package and version: tests/reference/system-calls/ORIGIN.md). On arm64 the filter was not run.</summary>
public sealed class SystemCallsTests
{
    private static readonly SystemCall[] All =
    [
        SystemCalls.Seccomp, SystemCalls.Open, SystemCalls.OpenAt, SystemCalls.Clone, .. SystemCalls.NotThere, .. SystemCalls.OwnProcessAlone, .. SystemCalls.Refused,
    ];

    [Theory]
    [InlineData("x86-64")]
    [InlineData("arm64")]
    public void Numbers_OfEveryCall_AreThoseOfTheKernelsHeaders(string architecture)
    {
        Dictionary<string, uint> header = File.ReadLines(Path.Combine(SharedData.RepositoryRoot, "tests", "reference", "system-calls", architecture + ".tsv"))
            .Select(line => line.Split('\t')).ToDictionary(parts => parts[0], parts => uint.Parse(parts[1], CultureInfo.InvariantCulture), StringComparer.Ordinal);
        Assert.True(header.Count > 250, $"The header of {architecture} names {header.Count} calls.");
        Assert.Equal(
            All.Select(call => (call.Name, Number: header.TryGetValue(call.Name, out uint number) ? number : (uint?)null)),
            All.Select(call => (call.Name, Number: architecture == "arm64" ? call.Arm64 : call.X64)));
    }

    [Fact]
    public void Calls_OfEveryKind_AreNamedOnceAndShareNoNumber()
    {
        Assert.Equal(All.Length, All.DistinctBy(call => call.Name).Count());
        Assert.Equal(All.Length, All.DistinctBy(call => call.X64).Count());
        uint[] arm = [.. All.Select(call => call.Arm64).OfType<uint>()];
        Assert.Equal(arm.Length, arm.Distinct().Count());
    }
}
