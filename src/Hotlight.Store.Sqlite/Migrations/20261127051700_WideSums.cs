using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Hotlight.Store.Sqlite.Migrations
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
            foreach (string trigger in new[] { "added", "removed", "changed" })
            {
                migrationBuilder.Sql($"DROP TRIGGER log_entries_{trigger};");
            }

            migrationBuilder.Sql("DROP VIEW log_facts;");
            foreach (string table in new[] { "log_unsummed", "log_day_totals", "log_month_projections", "log_month_performer_totals", "log_month_rooms", "log_year_performer_rooms", "log_year_performer_projections", "log_year_room_projections", "log_index_months", "log_index_year_rooms", "log_index_year_projections" })
            {
                migrationBuilder.Sql($"DROP TABLE {table};");
            }

            // The view and the triggers as they were.
            string former = Text("ExposureLog.sql");
            migrationBuilder.Sql(former[former.IndexOf("CREATE VIEW log_facts", System.StringComparison.Ordinal)..]);
        }

        private static string Text(string name)
        {
            using System.IO.Stream stream = typeof(WideSums).Assembly.GetManifestResourceStream($"Hotlight.Store.Sqlite.Migrations.{name}");
            using var reader = new System.IO.StreamReader(stream);
            return reader.ReadToEnd();
        }
    }
}
