using System;
using Microsoft.EntityFrameworkCore.Migrations;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

#nullable disable

namespace Hotlight.Store.Postgres.Migrations
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
                    Number = table.Column<long>(type: "bigint", nullable: false),
                    At = table.Column<long>(type: "bigint", nullable: false),
                    By = table.Column<string>(type: "character varying(100)", maxLength: 100, nullable: false, collation: "C"),
                    ById = table.Column<Guid>(type: "uuid", nullable: true),
                    Role = table.Column<string>(type: "character varying(100)", maxLength: 100, nullable: false, collation: "C"),
                    Address = table.Column<string>(type: "character varying(100)", maxLength: 100, nullable: false, collation: "C"),
                    Act = table.Column<int>(type: "integer", nullable: false),
                    Subject = table.Column<int>(type: "integer", nullable: false),
                    SubjectId = table.Column<string>(type: "character varying(100)", maxLength: 100, nullable: false, collation: "C"),
                    Detail = table.Column<string>(type: "character varying(200)", maxLength: 200, nullable: false, collation: "C"),
                    IsFailure = table.Column<bool>(type: "boolean", nullable: false),
                    Previous = table.Column<string>(type: "character varying(64)", maxLength: 64, nullable: false, collation: "C"),
                    Seal = table.Column<string>(type: "character varying(64)", maxLength: 64, nullable: false, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AuditEntries", x => x.Number);
                });

            migrationBuilder.CreateTable(
                name: "AuditRetention",
                columns: table => new
                {
                    Id = table.Column<int>(type: "integer", nullable: false),
                    UpTo = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AuditRetention", x => x.Id);
                });

            migrationBuilder.CreateIndex(
                name: "IX_AuditEntries_At",
                table: "AuditEntries",
                column: "At")
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_AuditEntries_By_Number",
                table: "AuditEntries",
                columns: new[] { "By", "Number" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_AuditEntries_Subject_SubjectId_Number",
                table: "AuditEntries",
                columns: new[] { "Subject", "SubjectId", "Number" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            // Nothing in the trail is ever changed, and only what the clinic's policy names is removed.
            migrationBuilder.Sql("""
                CREATE FUNCTION audit_entries_guard() RETURNS trigger LANGUAGE plpgsql AS $$
                BEGIN
                  IF TG_OP = 'DELETE' AND old."Number" <= coalesce((SELECT max("UpTo") FROM "AuditRetention"), 0) THEN
                    RETURN old;
                  END IF;
                  RAISE EXCEPTION 'entries of the audit trail are never changed, and removed by policy only';
                END $$;
                CREATE TRIGGER audit_entries_unchanged BEFORE UPDATE OR DELETE ON "AuditEntries" FOR EACH ROW EXECUTE FUNCTION audit_entries_guard();
                CREATE TRIGGER audit_entries_whole BEFORE TRUNCATE ON "AuditEntries" FOR EACH STATEMENT EXECUTE FUNCTION audit_entries_guard();
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "AuditEntries");

            migrationBuilder.DropTable(
                name: "AuditRetention");
            migrationBuilder.Sql("DROP FUNCTION audit_entries_guard();");
        }
    }
}
