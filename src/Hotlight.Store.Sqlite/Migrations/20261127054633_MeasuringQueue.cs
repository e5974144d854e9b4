using System;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Hotlight.Store.Sqlite.Migrations
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
                    CaseId = table.Column<Guid>(type: "TEXT", nullable: false),
                    MeasureBy = table.Column<string>(type: "TEXT", maxLength: 100, nullable: false),
                    MeasureWith = table.Column<string>(type: "TEXT", maxLength: 64, nullable: false),
                    SettingsNumber = table.Column<int>(type: "INTEGER", nullable: false),
                    Place = table.Column<long>(type: "INTEGER", nullable: false),
                    State = table.Column<int>(type: "INTEGER", nullable: false),
                    Attempts = table.Column<int>(type: "INTEGER", nullable: false),
                    Lease = table.Column<Guid>(type: "TEXT", nullable: true),
                    Worker = table.Column<string>(type: "TEXT", maxLength: 100, nullable: true),
                    Asked = table.Column<long>(type: "INTEGER", nullable: false),
                    Due = table.Column<long>(type: "INTEGER", nullable: false),
                    Reason = table.Column<string>(type: "TEXT", maxLength: 300, nullable: true)
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
                columns: new[] { "Place", "CaseId" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "MeasuringJobs");
        }
    }
}
