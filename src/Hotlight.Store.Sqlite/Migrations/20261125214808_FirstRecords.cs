using System;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Hotlight.Store.Sqlite.Migrations
{
    /// <inheritdoc />
    internal sealed partial class FirstRecords : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "Cases",
                columns: table => new
                {
                    Id = table.Column<Guid>(type: "TEXT", nullable: false),
                    Title = table.Column<string>(type: "TEXT", maxLength: 200, nullable: false),
                    FileName = table.Column<string>(type: "TEXT", maxLength: 255, nullable: false),
                    ContentHash = table.Column<string>(type: "TEXT", maxLength: 64, nullable: false),
                    ContentBytes = table.Column<long>(type: "INTEGER", nullable: false),
                    ProjectionId = table.Column<string>(type: "TEXT", maxLength: 100, nullable: true),
                    GivenRowSpacingMm = table.Column<double>(type: "REAL", nullable: true),
                    GivenColumnSpacingMm = table.Column<double>(type: "REAL", nullable: true),
                    ExposureRecordJson = table.Column<string>(type: "TEXT", nullable: false),
                    MeasurementsJson = table.Column<string>(type: "TEXT", nullable: false),
                    MeasuredBy = table.Column<string>(type: "TEXT", maxLength: 100, nullable: false),
                    AnswersJson = table.Column<string>(type: "TEXT", nullable: false),
                    Verdict = table.Column<string>(type: "TEXT", maxLength: 40, nullable: true),
                    AnswerStep = table.Column<int>(type: "INTEGER", nullable: false),
                    LastAnswerStep = table.Column<int>(type: "INTEGER", nullable: false),
                    Version = table.Column<int>(type: "INTEGER", nullable: false),
                    IsInvented = table.Column<bool>(type: "INTEGER", nullable: false),
                    FileCarriesPatientIdentity = table.Column<bool>(type: "INTEGER", nullable: false),
                    Created = table.Column<long>(type: "INTEGER", nullable: false),
                    Changed = table.Column<long>(type: "INTEGER", nullable: false),
                    Deleted = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Cases", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Facts",
                columns: table => new
                {
                    Name = table.Column<string>(type: "TEXT", maxLength: 100, nullable: false),
                    Value = table.Column<string>(type: "TEXT", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Facts", x => x.Name);
                });

            migrationBuilder.CreateTable(
                name: "AnswerSteps",
                columns: table => new
                {
                    CaseId = table.Column<Guid>(type: "TEXT", nullable: false),
                    Step = table.Column<int>(type: "INTEGER", nullable: false),
                    AnswersJson = table.Column<string>(type: "TEXT", nullable: false),
                    Verdict = table.Column<string>(type: "TEXT", maxLength: 40, nullable: true),
                    Label = table.Column<string>(type: "TEXT", maxLength: 300, nullable: false),
                    MergeKey = table.Column<string>(type: "TEXT", maxLength: 200, nullable: true),
                    Given = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AnswerSteps", x => new { x.CaseId, x.Step });
                    table.ForeignKey(
                        name: "FK_AnswerSteps_Cases_CaseId",
                        column: x => x.CaseId,
                        principalTable: "Cases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_ContentHash",
                table: "Cases",
                column: "ContentHash");

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Created",
                table: "Cases",
                columns: new[] { "Deleted", "Created" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "AnswerSteps");

            migrationBuilder.DropTable(
                name: "Facts");

            migrationBuilder.DropTable(
                name: "Cases");
        }
    }
}
