using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Hotlight.Store.Sqlite.Migrations
{
    /// <inheritdoc />
    internal sealed partial class ExposureLog : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            // Tables, triggers and a view that the model does not know: ExposureLog.sql beside this file, as it was when this version came out.
            using System.IO.Stream stream = typeof(ExposureLog).Assembly.GetManifestResourceStream("Hotlight.Store.Sqlite.Migrations.ExposureLog.sql");
            using var reader = new System.IO.StreamReader(stream);
            migrationBuilder.Sql(reader.ReadToEnd());
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.Sql("DROP VIEW log_facts;");
            foreach (string table in new[] { "log_entries", "log_imports", "log_names", "log_days", "log_day_projections", "log_day_performers", "log_months", "log_month_performers", "log_index_days", "log_index_projections", "log_index_rooms", "log_index_performers" })
            {
                migrationBuilder.Sql($"DROP TABLE {table};");
            }
        }
    }
}
