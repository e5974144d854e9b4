using Hotlight.Workflows.Intake;

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

    [Fact]
    public void Parse_HowFilesComeIn_IsTaken()
    {
        string word = Path.GetTempFileName();
        try
        {
            File.WriteAllText(word, " sixteen-letters-and-more\n");
            BenchOptions options = BenchOptions.Parse(
                ["--setting", "clinical", "--inbox", "in", "--inbox-removes", "--receive-port", "11112", "--receive-title", "ROOM2", "--web-token-file", word]);

            Assert.Equal(IntakeSetting.Clinical, options.Setting);
            Assert.Equal(Path.GetFullPath("in"), options.InboxFolder);
            Assert.True(options.InboxRemoves);
            Assert.Equal((11112, "ROOM2"), (options.ReceivePort, options.ReceiveTitle));
            Assert.Equal("sixteen-letters-and-more", options.WebToken);
            Assert.Equal(IntakeSetting.Teaching, BenchOptions.Parse([]).Setting);

            File.WriteAllText(word, "short");
            Assert.Contains("at least 16", Assert.Throws<BenchRefusedException>(() => BenchOptions.Parse(["--web-token-file", word])).Message, StringComparison.Ordinal);
        }
        finally
        {
            File.Delete(word);
        }
    }

    [Theory]
    [InlineData("--setting", "home")]
    [InlineData("--receive-port", "70000")]
    [InlineData("--receive-title", "a title with spaces")]
    [InlineData("--web-token-file", "no such file")]
    [InlineData("--inbox", " ")]
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
        => Assert.Contains("Without accounts", Assert.Throws<BenchRefusedException>(() => BenchOptions.Parse(["--listen", address])).Message, StringComparison.Ordinal);

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
