using System.ComponentModel;
using Hotlight.Audit;
using Hotlight.Cli.Rendering;
using Hotlight.Store.Postgres;
using Hotlight.Store.Sqlite;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Spectre.Console.Cli;

namespace Hotlight.Cli.Commands;

/// <summary>hotlight people add-administrator --name NAME --pseudonym PSEUDONYM [--data DIR] [--store ADDR] [--address URL].</summary>
internal sealed class PeopleAddAdministratorCommand : Command<PeopleAddAdministratorCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
        => PeopleSettings.Say(settings, accounts => accounts.InviteAsync(settings.Name, PersonRole.Administrator, null, settings.Pseudonym ?? settings.Name, null, cancellationToken));

    internal sealed class Settings : PeopleSettings
    {
        [CommandOption("--pseudonym <PSEUDONYM>")]
        [Description("What the person is called on the bench (default: the name)")]
        public string? Pseudonym { get; init; }
    }
}

/// <summary>hotlight people new-link --name NAME [--data DIR] [--store ADDR] [--address URL].</summary>
internal sealed class PeopleNewLinkCommand : Command<PeopleNewLinkCommand.Settings>
{
    public override int Execute(CommandContext context, Settings settings, CancellationToken cancellationToken)
        => PeopleSettings.Say(settings, async accounts =>
        {
            Account account = (await accounts.ListAsync(cancellationToken)).FirstOrDefault(each => string.Equals(each.Name, settings.Name, StringComparison.OrdinalIgnoreCase))
                ?? throw new AccountRefusedException($"There is no account with the name “{settings.Name}”.");
            return await accounts.InviteAgainAsync(account.Id, cancellationToken);
        });

    internal sealed class Settings : PeopleSettings
    {
    }
}

/// <summary>Whose account a call is about, in which bench.</summary>
internal abstract class PeopleSettings : RecordsSettings
{
    [CommandOption("--name <NAME>")]
    [Description("Sign-in name of the account")]
    public string Name { get; init; } = string.Empty;

    [CommandOption("--address <URL>")]
    [Description("Address by which the bench is reached, for the link (default: http://localhost:5180)")]
    [DefaultValue("http://localhost:5180")]
    public string BenchAddress { get; init; } = "http://localhost:5180";

    public override Spectre.Console.ValidationResult Validate()
        => Name.Length == 0 ? Spectre.Console.ValidationResult.Error("say with --name whose account it is.")
        : !Uri.TryCreate(BenchAddress, UriKind.Absolute, out Uri? parsed) || (parsed.Scheme != Uri.UriSchemeHttps && parsed.Scheme != Uri.UriSchemeHttp) ? Spectre.Console.ValidationResult.Error("--address takes an address such as https://hotlight.example.org.")
        : Spectre.Console.ValidationResult.Success();

    /// <summary>Does something with the accounts of the bench and writes the link that comes of it.</summary>
    public static int Say(PeopleSettings settings, Func<AccountWorkflow, Task<IssuedInvitation>> act)
    {
        try
        {
            IssuedInvitation issued = settings.ActAsync(act).GetAwaiter().GetResult();
            Terminal.Errors.WriteLine($"hotlight: {issued.Account.Name} opens this link, once, within {AccountWorkflow.InvitationHolds.Days} days; whoever has it is let in as {RoleTable.Word(issued.Account.Role)}.");
            Terminal.Output.WriteLine(issued.LinkAt(settings.BenchAddress));
            return HotlightCommandLine.Done;
        }
        catch (AccountRefusedException error)
        {
            throw new RefusedException(error.Message);
        }
    }

    private async Task<IssuedInvitation> ActAsync(Func<AccountWorkflow, Task<IssuedInvitation>> act)
    {
        // Whoever has the machine and its data keeps its people.
        Acting.As(Caller);
        string path = Path.Combine(Folder, "records.db");
        try
        {
            if (Address() is { } address)
            {
                await using PostgresRecords server = await PostgresRecords.OpenAsync(address, TimeProvider.System);
                return await act(new AccountWorkflow(server.Accounts, await LoadAsync(server.Clinic), TimeProvider.System, TrailOf(server.Trail)));
            }

            if (!Directory.Exists(Folder))
            {
                MakeFolder(Folder);
            }

            await SqliteRecords.OpenAsync(path, TimeProvider.System);
            return await act(new AccountWorkflow(SqliteRecords.Accounts(path), await LoadAsync(SqliteRecords.Clinic(path, TimeProvider.System)), TimeProvider.System, TrailOf(SqliteRecords.Trail(path))));
        }
        catch (Exception error) when (error is FileNotKeptException or AuditRefusedException)
        {
            throw new RefusedException(error.Message);
        }
        catch (FormatException error)
        {
            throw new RefusedException($"the settings of the clinic cannot be read, perhaps because a later version kept them: {error.Message}");
        }
        catch (Exception error) when (error is IOException or UnauthorizedAccessException)
        {
            throw new RefusedException($"the data of the bench cannot be used: {Terminal.Reason(error)}.");
        }
    }

    // As the bench makes it: kept files may carry a patient's identity.
    private static void MakeFolder(string folder)
    {
        if (OperatingSystem.IsWindows())
        {
            Directory.CreateDirectory(folder);
        }
        else
        {
            Directory.CreateDirectory(folder, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        }
    }

    private static async Task<ClinicWorkflow> LoadAsync(IClinicStore store)
    {
        var clinic = new ClinicWorkflow(store);
        await clinic.LoadAsync();
        return clinic;
    }
}
