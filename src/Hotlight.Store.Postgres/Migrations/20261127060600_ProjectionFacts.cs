using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Hotlight.Store.Postgres.Migrations
{
    /// <inheritdoc />
    internal sealed partial class ProjectionFacts : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            // All that log_facts tells of a projection's entries, from the index alone: a common projection has millions of entries, which lie all over the table.
            migrationBuilder.Sql("""
                CREATE INDEX log_entries_projection_facts ON log_entries (site, projection, exposed_at)
                  INCLUDE (day, month, room, receptor, performer, shift, age_group, exposure_use, is_repeat, outcome, bin, exposure_index, kerma_area_product_dgycm2);
                DROP INDEX log_entries_projection;
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.Sql("""
                CREATE INDEX log_entries_projection ON log_entries (site, projection, exposed_at);
                DROP INDEX log_entries_projection_facts;
                """);
        }
    }
}
