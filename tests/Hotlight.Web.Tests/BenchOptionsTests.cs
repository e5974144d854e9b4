namespace Hotlight.Web.Tests;

public sealed class BenchOptionsTests
{
    [Fact]
    public void Parse_Nothing_GivesTheDefaultPortAndTheUsersDataFolder()
    {
        BenchOptions options = BenchOptions.Parse([]);

        Assert.Equal(5180, options.Port);
        Assert.True(options.WithDemoCases);
        Assert.EndsWith("hotlight", options.DataFolder, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("--port", "5190", "--data", "cases", "--catalogue", "ours", "--no-demo")]
    [InlineData("--port=5190", "--data=cases", "--catalogue=ours", "--no-demo")]
    public void Parse_EveryOption_IsTaken(params string[] arguments)
    {
        BenchOptions options = BenchOptions.Parse(arguments);

        Assert.Equal(5190, options.Port);
        Assert.Equal(Path.GetFullPath("cases"), options.DataFolder);
        Assert.Equal("ours", options.CatalogueFolder);
        Assert.False(options.WithDemoCases);
    }

    [Theory]
    [InlineData("--port", "65536")]
    [InlineData("--port", "-1")]
    [InlineData("--port", "http")]
    [InlineData("--port")]
    [InlineData("--data", " ")]
    [InlineData("--colour")]
    public void Parse_WhatIsNotAllowed_IsRefusedInOneSentence(params string[] arguments)
    {
        string sentence = Assert.Throws<BenchRefusedException>(() => BenchOptions.Parse(arguments)).Message;

        Assert.DoesNotContain('\n', sentence);
        Assert.EndsWith(".", sentence, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("0.0.0.0")]
    [InlineData("192.168.0.7")]
    [InlineData("::")]
    public void Parse_ListenBeyondThisMachine_IsRefused(string address)
        => Assert.Contains("no accounts", Assert.Throws<BenchRefusedException>(() => BenchOptions.Parse(["--listen", address])).Message, StringComparison.Ordinal);

    [Theory]
    [InlineData("http://0.0.0.0:5180", false)]
    [InlineData("http://*:5180", false)]
    [InlineData("http://127.0.0.1:5180;http://10.0.0.5:80", false)]
    [InlineData("http://127.0.0.1:5180", true)]
    [InlineData("http://localhost:5180", true)]
    [InlineData(null, true)]
    public void RefuseOtherAddresses_FromTheEnvironment_OnlyThisMachineIsAllowed(string? urls, bool isAllowed)
    {
        Exception? error = Record.Exception(() => BenchOptions.RefuseOtherAddresses(name => name == "ASPNETCORE_URLS" ? urls : null));

        Assert.Equal(isAllowed, error is null);
        Assert.True(error is null or BenchRefusedException);
    }
}
