using System;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Hotlight.Store.Sqlite.Migrations
{
    /// <inheritdoc />
    internal sealed partial class AuditTrail : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "AuditEntries",
                columns: table => new
                {
                    Number = table.Column<long>(type: "INTEGER", nullable: false),
                    At = table.Column<long>(type: "INTEGER", nullable: false),
                    By = table.Column<string>(type: "TEXT", maxLength: 100, nullable: false),
                    ById = table.Column<Guid>(type: "TEXT", nullable: true),
                    Role = table.Column<string>(type: "TEXT", maxLength: 100, nullable: false),
                    Address = table.Column<string>(type: "TEXT", maxLength: 100, nullable: false),
                    Act = table.Column<int>(type: "INTEGER", nullable: false),
                    Subject = table.Column<int>(type: "INTEGER", nullable: false),
                    SubjectId = table.Column<string>(type: "TEXT", maxLength: 100, nullable: false),
                    Detail = table.Column<string>(type: "TEXT", maxLength: 200, nullable: false),
                    IsFailure = table.Column<bool>(type: "INTEGER", nullable: false),
                    Previous = table.Column<string>(type: "TEXT", maxLength: 64, nullable: false),
                    Seal = table.Column<string>(type: "TEXT", maxLength: 64, nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AuditEntries", x => x.Number);
                });

            migrationBuilder.CreateTable(
                name: "AuditRetention",
                columns: table => new
                {
                    Id = table.Column<int>(type: "INTEGER", nullable: false),
                    UpTo = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AuditRetention", x => x.Id);
                });

            migrationBuilder.CreateIndex(
                name: "IX_AuditEntries_At",
                table: "AuditEntries",
                column: "At");

            migrationBuilder.CreateIndex(
                name: "IX_AuditEntries_By_Number",
                table: "AuditEntries",
                columns: new[] { "By", "Number" });

            migrationBuilder.CreateIndex(
                name: "IX_AuditEntries_Subject_SubjectId_Number",
                table: "AuditEntries",
                columns: new[] { "Subject", "SubjectId", "Number" });

            // Nothing in the trail is ever changed, and only what the clinic's policy names is removed.
            migrationBuilder.Sql("""
                CREATE TRIGGER AuditEntries_unchanged BEFORE UPDATE ON "AuditEntries"
                BEGIN SELECT RAISE(ABORT, 'entries of the audit trail are never changed'); END;
                """);
            migrationBuilder.Sql("""
                CREATE TRIGGER AuditEntries_kept BEFORE DELETE ON "AuditEntries"
                WHEN old."Number" > coalesce((SELECT max("UpTo") FROM "AuditRetention"), 0)
                BEGIN SELECT RAISE(ABORT, 'entries of the audit trail are removed by policy only'); END;
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "AuditEntries");

            migrationBuilder.DropTable(
                name: "AuditRetention");
        }
    }
}
