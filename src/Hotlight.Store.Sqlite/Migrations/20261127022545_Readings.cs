using System;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Hotlight.Store.Sqlite.Migrations
{
    /// <inheritdoc />
    internal sealed partial class Readings : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "BlindCalls",
                columns: table => new
                {
                    CaseId = table.Column<Guid>(type: "TEXT", nullable: false),
                    Called = table.Column<long>(type: "INTEGER", nullable: false),
                    CalledBy = table.Column<Guid>(type: "TEXT", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_BlindCalls", x => x.CaseId);
                    table.ForeignKey(
                        name: "FK_BlindCalls_Cases_CaseId",
                        column: x => x.CaseId,
                        principalTable: "Cases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "Readings",
                columns: table => new
                {
                    Id = table.Column<Guid>(type: "TEXT", nullable: false),
                    CaseId = table.Column<Guid>(type: "TEXT", nullable: false),
                    CaseTitle = table.Column<string>(type: "TEXT", maxLength: 200, nullable: false),
                    ProjectionId = table.Column<string>(type: "TEXT", maxLength: 100, nullable: false),
                    ReaderId = table.Column<Guid>(type: "TEXT", nullable: false),
                    ReaderPseudonym = table.Column<string>(type: "TEXT", maxLength: 40, nullable: false),
                    ReaderRole = table.Column<int>(type: "INTEGER", nullable: false),
                    IsInvented = table.Column<bool>(type: "INTEGER", nullable: false),
                    Number = table.Column<int>(type: "INTEGER", nullable: false),
                    Condition = table.Column<int>(type: "INTEGER", nullable: false),
                    AnswersJson = table.Column<string>(type: "TEXT", nullable: false),
                    Verdict = table.Column<string>(type: "TEXT", maxLength: 40, nullable: true),
                    AnswerStep = table.Column<int>(type: "INTEGER", nullable: false),
                    LastAnswerStep = table.Column<int>(type: "INTEGER", nullable: false),
                    Version = table.Column<int>(type: "INTEGER", nullable: false),
                    ReadingSeconds = table.Column<double>(type: "REAL", nullable: false),
                    Begun = table.Column<long>(type: "INTEGER", nullable: false),
                    Changed = table.Column<long>(type: "INTEGER", nullable: false),
                    Finished = table.Column<long>(type: "INTEGER", nullable: true),
                    ResultJson = table.Column<string>(type: "TEXT", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Readings", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Remarks",
                columns: table => new
                {
                    Id = table.Column<Guid>(type: "TEXT", nullable: false),
                    CaseId = table.Column<Guid>(type: "TEXT", nullable: false),
                    LineId = table.Column<string>(type: "TEXT", maxLength: 128, nullable: true),
                    AuthorId = table.Column<Guid>(type: "TEXT", nullable: false),
                    AuthorPseudonym = table.Column<string>(type: "TEXT", maxLength: 40, nullable: false),
                    AuthorRole = table.Column<int>(type: "INTEGER", nullable: false),
                    IsInvented = table.Column<bool>(type: "INTEGER", nullable: false),
                    Text = table.Column<string>(type: "TEXT", maxLength: 1000, nullable: false),
                    Written = table.Column<long>(type: "INTEGER", nullable: false),
                    Edited = table.Column<long>(type: "INTEGER", nullable: true),
                    Version = table.Column<int>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Remarks", x => x.Id);
                    table.ForeignKey(
                        name: "FK_Remarks_Cases_CaseId",
                        column: x => x.CaseId,
                        principalTable: "Cases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "SignOffs",
                columns: table => new
                {
                    Id = table.Column<Guid>(type: "TEXT", nullable: false),
                    LearnerId = table.Column<Guid>(type: "TEXT", nullable: false),
                    LearnerPseudonym = table.Column<string>(type: "TEXT", maxLength: 40, nullable: false),
                    LearnerRole = table.Column<int>(type: "INTEGER", nullable: false),
                    SupervisorId = table.Column<Guid>(type: "TEXT", nullable: false),
                    SupervisorPseudonym = table.Column<string>(type: "TEXT", maxLength: 40, nullable: false),
                    SupervisorRole = table.Column<int>(type: "INTEGER", nullable: false),
                    IsInvented = table.Column<bool>(type: "INTEGER", nullable: false),
                    RequirementId = table.Column<Guid>(type: "TEXT", nullable: false),
                    Requirement = table.Column<string>(type: "TEXT", nullable: false),
                    Stood = table.Column<string>(type: "TEXT", nullable: false),
                    Signed = table.Column<long>(type: "INTEGER", nullable: false),
                    Withdrawn = table.Column<long>(type: "INTEGER", nullable: true),
                    WithdrawnBy = table.Column<string>(type: "TEXT", maxLength: 40, nullable: true),
                    WithdrawnReason = table.Column<string>(type: "TEXT", maxLength: 500, nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_SignOffs", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "ReadingSteps",
                columns: table => new
                {
                    ReadingId = table.Column<Guid>(type: "TEXT", nullable: false),
                    Step = table.Column<int>(type: "INTEGER", nullable: false),
                    AnswersJson = table.Column<string>(type: "TEXT", nullable: false),
                    Verdict = table.Column<string>(type: "TEXT", maxLength: 40, nullable: true),
                    Label = table.Column<string>(type: "TEXT", maxLength: 300, nullable: false),
                    MergeKey = table.Column<string>(type: "TEXT", maxLength: 200, nullable: true),
                    Given = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ReadingSteps", x => new { x.ReadingId, x.Step });
                    table.ForeignKey(
                        name: "FK_ReadingSteps_Readings_ReadingId",
                        column: x => x.ReadingId,
                        principalTable: "Readings",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_Readings_CaseId_ReaderId_Number",
                table: "Readings",
                columns: new[] { "CaseId", "ReaderId", "Number" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_Readings_Finished",
                table: "Readings",
                column: "Finished");

            migrationBuilder.CreateIndex(
                name: "IX_Readings_ReaderId_Finished",
                table: "Readings",
                columns: new[] { "ReaderId", "Finished" });

            migrationBuilder.CreateIndex(
                name: "IX_Remarks_CaseId_Written",
                table: "Remarks",
                columns: new[] { "CaseId", "Written" });

            migrationBuilder.CreateIndex(
                name: "IX_SignOffs_LearnerId_Signed",
                table: "SignOffs",
                columns: new[] { "LearnerId", "Signed" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "BlindCalls");

            migrationBuilder.DropTable(
                name: "ReadingSteps");

            migrationBuilder.DropTable(
                name: "Remarks");

            migrationBuilder.DropTable(
                name: "SignOffs");

            migrationBuilder.DropTable(
                name: "Readings");
        }
    }
}
