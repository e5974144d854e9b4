using Hotlight.Workflows.Clinic;
using Hotlight.Workflows.People;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage.ValueConversion;

namespace Hotlight.Store;

/// <summary>An account as it is kept; see <see cref="Account"/> for what the members mean.</summary>
public sealed class AccountRow
{
    /// <summary>Identifies it.</summary>
    public Guid Id { get; set; }

    /// <summary>Sign-in name.</summary>
    public required string Name { get; set; }

    /// <summary>The name without capitals: what it is found by.</summary>
    public required string NameKey { get; set; }

    /// <summary>The person of the clinic.</summary>
    public Guid PersonId { get; set; }

    /// <summary>The role.</summary>
    public PersonRole Role { get; set; }

    /// <summary>Hash of the password.</summary>
    public string? PasswordHash { get; set; }

    /// <summary>Changes with everything that must end sessions.</summary>
    public required string SecurityStamp { get; set; }

    /// <summary>Key of the app that makes codes, encrypted.</summary>
    public string? CodeKey { get; set; }

    /// <summary>Whether codes are asked for.</summary>
    public bool UsesCodes { get; set; }

    /// <summary>Hash of the last code that was taken.</summary>
    public string? LastCode { get; set; }

    /// <summary>Hashes of the recovery codes that are left, with blanks between.</summary>
    public required string RecoveryCodes { get; set; }

    /// <summary>Wrong attempts since the last right one.</summary>
    public int FailedAttempts { get; set; }

    /// <summary>Until when no attempt is taken.</summary>
    public DateTimeOffset? LockedUntil { get; set; }

    /// <summary>Whether it is locked out.</summary>
    public bool IsDisabled { get; set; }

    /// <summary>When it was made.</summary>
    public DateTimeOffset Created { get; set; }

    /// <summary>When somebody last signed in.</summary>
    public DateTimeOffset? LastSignedIn { get; set; }

    /// <summary>Goes up by one with every change.</summary>
    public int Version { get; set; }

    /// <summary>Its passkeys.</summary>
    public List<PasskeyRow> Passkeys { get; set; } = [];

    /// <summary>Its identities at the hospital's sign-in.</summary>
    public List<HospitalIdentityRow> Identities { get; set; } = [];
}

/// <summary>A passkey as it is kept.</summary>
public sealed class PasskeyRow
{
    /// <summary>Its identifier, base64url: WebAuthn's own bytes, at most 1023.</summary>
    public required string CredentialId { get; set; }

    /// <summary>The account.</summary>
    public Guid AccountId { get; set; }

    /// <summary>What its owner calls it.</summary>
    public required string Name { get; set; }

    /// <summary>When it was made.</summary>
    public DateTimeOffset Created { get; set; }

    /// <summary>Public key, counter and flags as JSON.</summary>
    public required string DataJson { get; set; }
}

/// <summary>Who somebody is at the hospital's sign-in, as it is kept.</summary>
public sealed class HospitalIdentityRow
{
    /// <summary>The provider.</summary>
    public required string Issuer { get; set; }

    /// <summary>The subject there.</summary>
    public required string Subject { get; set; }

    /// <summary>The account.</summary>
    public Guid AccountId { get; set; }
}

/// <summary>An invitation as it is kept.</summary>
public sealed class InvitationRow
{
    /// <summary>Identifies it.</summary>
    public Guid Id { get; set; }

    /// <summary>The account.</summary>
    public Guid AccountId { get; set; }

    /// <summary>SHA-256 of its secret.</summary>
    public required string SecretHash { get; set; }

    /// <summary>When it was made.</summary>
    public DateTimeOffset Made { get; set; }

    /// <summary>Until when it holds.</summary>
    public DateTimeOffset Ends { get; set; }

    /// <summary>When it was used.</summary>
    public DateTimeOffset? Used { get; set; }
}

/// <summary>A session as it is kept.</summary>
public sealed class SessionRow
{
    /// <summary>Identifies it.</summary>
    public Guid Id { get; set; }

    /// <summary>The account.</summary>
    public Guid AccountId { get; set; }

    /// <summary>The account's stamp when it began.</summary>
    public required string SecurityStamp { get; set; }

    /// <summary>Whether the second factor was given.</summary>
    public bool IsFull { get; set; }

    /// <summary>What the browser calls itself.</summary>
    public required string Browser { get; set; }

    /// <summary>When it began.</summary>
    public DateTimeOffset Began { get; set; }

    /// <summary>When somebody last did something in it.</summary>
    public DateTimeOffset Seen { get; set; }
}

/// <summary>The part of the model that holds the accounts of a department.</summary>
internal static class PeopleModel
{
    private const int HashLength = 64;

    /// <summary>Adds the tables.</summary>
    /// <param name="modelBuilder">The model.</param>
    /// <param name="time">How times are kept.</param>
    public static void Build(ModelBuilder modelBuilder, ValueConverter<DateTimeOffset, long> time)
    {
        modelBuilder.Entity<AccountRow>(row =>
        {
            row.ToTable("Accounts");
            row.HasKey(each => each.Id);
            row.Property(each => each.Name).HasMaxLength(Account.NameMaxLength);
            row.Property(each => each.NameKey).HasMaxLength(Account.NameMaxLength);
            row.Property(each => each.SecurityStamp).HasMaxLength(HashLength);
            row.Property(each => each.LastCode).HasMaxLength(HashLength);
            row.Property(each => each.Version).IsConcurrencyToken();
            row.Property(each => each.LockedUntil).HasConversion(time);
            row.Property(each => each.Created).HasConversion(time);
            row.Property(each => each.LastSignedIn).HasConversion(time);
            row.HasIndex(each => each.NameKey).IsUnique();
            row.HasIndex(each => each.PersonId).IsUnique();
            row.HasMany(each => each.Passkeys).WithOne().HasForeignKey(each => each.AccountId).OnDelete(DeleteBehavior.Cascade);
            row.HasMany(each => each.Identities).WithOne().HasForeignKey(each => each.AccountId).OnDelete(DeleteBehavior.Cascade);
        });
        modelBuilder.Entity<PasskeyRow>(row =>
        {
            row.ToTable("AccountPasskeys");
            row.HasKey(each => each.CredentialId);
            row.Property(each => each.CredentialId).HasMaxLength(1364);
            row.Property(each => each.Name).HasMaxLength(AccountPasskey.NameMaxLength);
            row.Property(each => each.Created).HasConversion(time);
        });
        modelBuilder.Entity<HospitalIdentityRow>(row =>
        {
            row.ToTable("AccountIdentities");
            row.HasKey(each => new { each.Issuer, each.Subject });
            row.Property(each => each.Issuer).HasMaxLength(300);
            row.Property(each => each.Subject).HasMaxLength(300);
        });
        modelBuilder.Entity<InvitationRow>(row =>
        {
            row.ToTable("AccountInvitations");
            row.HasKey(each => each.Id);
            row.Property(each => each.SecretHash).HasMaxLength(HashLength);
            row.Property(each => each.Made).HasConversion(time);
            row.Property(each => each.Ends).HasConversion(time);
            row.Property(each => each.Used).HasConversion(time);
            row.HasIndex(each => each.SecretHash).IsUnique();
            row.HasOne<AccountRow>().WithMany().HasForeignKey(each => each.AccountId).OnDelete(DeleteBehavior.Cascade);
        });
        modelBuilder.Entity<SessionRow>(row =>
        {
            row.ToTable("AccountSessions");
            row.HasKey(each => each.Id);
            row.Property(each => each.SecurityStamp).HasMaxLength(HashLength);
            row.Property(each => each.Browser).HasMaxLength(100);
            row.Property(each => each.Began).HasConversion(time);
            row.Property(each => each.Seen).HasConversion(time);
            row.HasIndex(each => each.Began);
            row.HasOne<AccountRow>().WithMany().HasForeignKey(each => each.AccountId).OnDelete(DeleteBehavior.Cascade);
        });
    }
}
