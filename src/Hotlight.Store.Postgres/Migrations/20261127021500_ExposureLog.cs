using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Hotlight.Store.Postgres.Migrations
{
    /// <inheritdoc />
    internal sealed partial class ExposureLog : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            // Tables, triggers and a view that the model does not know: ExposureLog.sql beside this file, as it was when this version came out.
            using System.IO.Stream stream = typeof(ExposureLog).Assembly.GetManifestResourceStream("Hotlight.Store.Postgres.Migrations.ExposureLog.sql");
            using var reader = new System.IO.StreamReader(stream);
            migrationBuilder.Sql(reader.ReadToEnd());

            // A change of a case is told to every server with its commit: who made it, the case, what happened, the version.
            migrationBuilder.Sql("""
                CREATE FUNCTION cases_tell() RETURNS trigger LANGUAGE plpgsql AS $body$
                DECLARE what text;
                BEGIN
                  IF TG_OP = 'INSERT' THEN what := 'Added';
                  ELSIF OLD."Deleted" IS NULL AND NEW."Deleted" IS NOT NULL THEN what := 'Deleted';
                  ELSIF OLD."Deleted" IS NOT NULL AND NEW."Deleted" IS NULL THEN what := 'PutBack';
                  ELSIF OLD."Version" <> NEW."Version" OR OLD."FilingVersion" <> NEW."FilingVersion" THEN what := 'Changed';
                  ELSE RETURN NULL;
                  END IF;
                  PERFORM pg_notify('hotlight_cases', current_setting('application_name') || '|' || NEW."Id" || '|' || what || '|' || NEW."Version");
                  RETURN NULL;
                END $body$;
                CREATE TRIGGER cases_tell AFTER INSERT OR UPDATE ON "Cases" FOR EACH ROW EXECUTE FUNCTION cases_tell();
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.Sql("""
                DROP TRIGGER cases_tell ON "Cases";
                DROP FUNCTION cases_tell();
                DROP VIEW log_facts;
                DROP TABLE log_entries, log_keys, log_imports, log_names, log_days, log_day_projections, log_day_performers, log_months, log_month_performers,
                  log_index_days, log_index_projections, log_index_rooms, log_index_performers;
                DROP SEQUENCE log_entry_seq;
                DROP FUNCTION log_entries_added(), log_entries_removed(), log_entries_changed();
                """);
        }
    }
}
