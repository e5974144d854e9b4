using Hotlight.Store.Sqlite;
using Hotlight.Testing;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;

namespace Hotlight.Cli.Tests;

[Collection("command line")]
public sealed class PeopleCommandTests : IDisposable
{
    private readonly ScratchFolder folder = new();

    public void Dispose()
    {
        Microsoft.Data.Sqlite.SqliteConnection.ClearAllPools();
        folder.Dispose();
    }

    [Fact]
    public async Task AddAdministratorAndNewLink_WriteALinkThatSetsTheAccountUpOnce()
    {
        string data = folder["data"];
        CommandLineCall made = CommandLineCall.Run("people", "add-administrator", "--name", "rowan", "--pseudonym", "Rowan", "--data", data, "--address", "https://hotlight.example");
        Assert.Equal(0, made.ExitStatus);
        Assert.StartsWith("https://hotlight.example/invitation#", made.Output, StringComparison.Ordinal);
        Assert.DoesNotContain(made.Output.Trim().Split('#')[1], made.Errors, StringComparison.Ordinal);
        CommandLineCall again = CommandLineCall.Run("people", "new-link", "--name", "ROWAN", "--data", data);
        Assert.Equal(0, again.ExitStatus);

        string path = Path.Combine(data, "records.db");
        var clinic = new ClinicWorkflow(SqliteRecords.Clinic(path, TimeProvider.System));
        var accounts = new AccountWorkflow(SqliteRecords.Accounts(path), clinic, TimeProvider.System);
        Assert.Null(await accounts.InvitedAsync(made.Output.Trim().Split('#')[1]));
        InvitedAccount invited = (await accounts.InvitedAsync(again.Output.Trim().Split('#')[1]))!;
        Assert.Equal(("rowan", PersonRole.Administrator), (invited.Account.Name, invited.Account.Role));
        Person person = Assert.Single((await clinic.LoadAsync()).Settings.People);
        Assert.Equal((invited.Account.PersonId, "Rowan", PersonRole.Administrator), (person.Id, person.Pseudonym, person.Role));

        // It stands in the audit trail under the name of whoever has the machine.
        CommandLineCall trail = CommandLineCall.Run("audit", "list", "--data", data);
        Assert.Contains("invited again", trail.Output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("people", "add-administrator")]
    [InlineData("people", "add-administrator", "--name", "two words")]
    [InlineData("people", "add-administrator", "--name", "rowan", "--address", "nowhere")]
    [InlineData("people", "new-link", "--name", "nobody")]
    public void People_CalledWrongly_IsOneSentence(params string[] words)
    {
        CommandLineCall call = CommandLineCall.Run([.. words, "--data", folder["data"]]);
        Assert.Equal(2, call.ExitStatus);
        Assert.Empty(call.Output);
        Assert.Single(call.Errors.Split('\n', StringSplitOptions.RemoveEmptyEntries));
    }
}
