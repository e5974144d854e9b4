using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Hotlight.Store.Postgres.Migrations
{
    /// <inheritdoc />
    internal sealed partial class WideSums : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            // Tables, triggers and a view that the model does not know: WideSums.sql beside this file, as it was when this version came out.
            migrationBuilder.Sql(Text("WideSums.sql"));
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.Sql("""
                DROP TRIGGER log_entries_added_wide ON log_entries;
                DROP TRIGGER log_entries_removed_wide ON log_entries;
                DROP TRIGGER log_entries_changed_wide ON log_entries;
                DROP FUNCTION log_entries_added_wide(), log_entries_removed_wide(), log_entries_changed_wide();
                DROP INDEX log_day_performers_performer, log_months_projection;
                DROP TABLE log_day_totals, log_month_projections, log_month_performer_totals, log_month_rooms, log_year_performer_rooms, log_year_performer_projections, log_year_room_projections,
                  log_index_months, log_index_year_rooms, log_index_year_projections;
                DROP VIEW log_facts;
                """);

            // The view as it was.
            string former = Text("ExposureLog.sql");
            int start = former.IndexOf("CREATE VIEW log_facts", System.StringComparison.Ordinal);
            migrationBuilder.Sql(former[start..(former.IndexOf(';', start) + 1)]);
        }

        private static string Text(string name)
        {
            using System.IO.Stream stream = typeof(WideSums).Assembly.GetManifestResourceStream($"Hotlight.Store.Postgres.Migrations.{name}");
            using var reader = new System.IO.StreamReader(stream);
            return reader.ReadToEnd();
        }
    }
}
