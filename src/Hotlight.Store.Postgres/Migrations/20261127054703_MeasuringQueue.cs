using System;
using Microsoft.EntityFrameworkCore.Migrations;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

#nullable disable

namespace Hotlight.Store.Postgres.Migrations
{
    /// <inheritdoc />
    internal sealed partial class MeasuringQueue : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "MeasuringJobs",
                columns: table => new
                {
                    CaseId = table.Column<Guid>(type: "uuid", nullable: false),
                    MeasureBy = table.Column<string>(type: "character varying(100)", maxLength: 100, nullable: false, collation: "C"),
                    MeasureWith = table.Column<string>(type: "character varying(64)", maxLength: 64, nullable: false, collation: "C"),
                    SettingsNumber = table.Column<int>(type: "integer", nullable: false),
                    Place = table.Column<long>(type: "bigint", nullable: false),
                    State = table.Column<int>(type: "integer", nullable: false),
                    Attempts = table.Column<int>(type: "integer", nullable: false),
                    Lease = table.Column<Guid>(type: "uuid", nullable: true),
                    Worker = table.Column<string>(type: "character varying(100)", maxLength: 100, nullable: true, collation: "C"),
                    Asked = table.Column<long>(type: "bigint", nullable: false),
                    Due = table.Column<long>(type: "bigint", nullable: false),
                    Reason = table.Column<string>(type: "character varying(300)", maxLength: 300, nullable: true, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MeasuringJobs", x => x.CaseId);
                    table.ForeignKey(
                        name: "FK_MeasuringJobs_Cases_CaseId",
                        column: x => x.CaseId,
                        principalTable: "Cases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_MeasuringJobs_Place_CaseId",
                table: "MeasuringJobs",
                columns: new[] { "Place", "CaseId" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            // What changes beside the cases is told to every server with its commit: who made it, what, and what it is about. A reading is opened like a case and told like one.
            migrationBuilder.Sql("""
                CREATE FUNCTION tell_beside(topic text, about text) RETURNS void LANGUAGE sql AS $body$
                  SELECT pg_notify('hotlight_beside', current_setting('application_name') || '|' || topic || '|' || about);
                $body$;
                CREATE FUNCTION readings_tell() RETURNS trigger LANGUAGE plpgsql AS $body$
                BEGIN
                  IF TG_OP = 'UPDATE' THEN
                    IF OLD."Version" <> NEW."Version" THEN
                      PERFORM pg_notify('hotlight_cases', current_setting('application_name') || '|' || NEW."Id" || '|Changed|' || NEW."Version");
                    END IF;
                    IF OLD."Finished" IS NOT DISTINCT FROM NEW."Finished" THEN RETURN NULL; END IF;
                  END IF;
                  PERFORM tell_beside('Readings', COALESCE(NEW."CaseId", OLD."CaseId")::text);
                  RETURN NULL;
                END $body$;
                CREATE TRIGGER readings_tell AFTER INSERT OR UPDATE OR DELETE ON "Readings" FOR EACH ROW EXECUTE FUNCTION readings_tell();
                CREATE FUNCTION case_of_readings_tell() RETURNS trigger LANGUAGE plpgsql AS $body$
                BEGIN
                  PERFORM tell_beside('Readings', COALESCE(NEW."CaseId", OLD."CaseId")::text);
                  RETURN NULL;
                END $body$;
                CREATE TRIGGER blind_calls_tell AFTER INSERT OR DELETE ON "BlindCalls" FOR EACH ROW EXECUTE FUNCTION case_of_readings_tell();
                CREATE TRIGGER remarks_tell AFTER INSERT OR UPDATE OR DELETE ON "Remarks" FOR EACH ROW EXECUTE FUNCTION case_of_readings_tell();
                CREATE FUNCTION sign_offs_tell() RETURNS trigger LANGUAGE plpgsql AS $body$
                BEGIN
                  PERFORM tell_beside('SignOffs', NEW."LearnerId"::text);
                  RETURN NULL;
                END $body$;
                CREATE TRIGGER sign_offs_tell AFTER INSERT OR UPDATE ON "SignOffs" FOR EACH ROW EXECUTE FUNCTION sign_offs_tell();
                CREATE FUNCTION clinic_tell() RETURNS trigger LANGUAGE plpgsql AS $body$
                BEGIN
                  PERFORM tell_beside('Settings', '');
                  RETURN NULL;
                END $body$;
                CREATE TRIGGER clinic_tell AFTER INSERT ON "ClinicVersions" FOR EACH ROW EXECUTE FUNCTION clinic_tell();
                CREATE FUNCTION measuring_tell() RETURNS trigger LANGUAGE plpgsql AS $body$
                BEGIN
                  -- Once a statement, and not for one that changed nothing or only held a lease.
                  IF TG_OP = 'INSERT' THEN
                    IF NOT EXISTS (SELECT 1 FROM new_rows) THEN RETURN NULL; END IF;
                  ELSIF TG_OP = 'DELETE' THEN
                    IF NOT EXISTS (SELECT 1 FROM old_rows) THEN RETURN NULL; END IF;
                  ELSIF NOT EXISTS (SELECT 1 FROM new_rows n JOIN old_rows o USING ("CaseId") WHERE n."State" <> o."State") THEN
                    RETURN NULL;
                  END IF;
                  PERFORM tell_beside('Queue', '');
                  RETURN NULL;
                END $body$;
                CREATE TRIGGER measuring_asked_tell AFTER INSERT ON "MeasuringJobs" REFERENCING NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION measuring_tell();
                CREATE TRIGGER measuring_changed_tell AFTER UPDATE ON "MeasuringJobs" REFERENCING OLD TABLE AS old_rows NEW TABLE AS new_rows FOR EACH STATEMENT EXECUTE FUNCTION measuring_tell();
                CREATE TRIGGER measuring_done_tell AFTER DELETE ON "MeasuringJobs" REFERENCING OLD TABLE AS old_rows FOR EACH STATEMENT EXECUTE FUNCTION measuring_tell();
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "MeasuringJobs");

            migrationBuilder.Sql("""
                DROP TRIGGER readings_tell ON "Readings";
                DROP TRIGGER blind_calls_tell ON "BlindCalls";
                DROP TRIGGER remarks_tell ON "Remarks";
                DROP TRIGGER sign_offs_tell ON "SignOffs";
                DROP TRIGGER clinic_tell ON "ClinicVersions";
                DROP FUNCTION readings_tell(), case_of_readings_tell(), sign_offs_tell(), clinic_tell(), measuring_tell(), tell_beside(text, text);
                """);
        }
    }
}
