using System;
using Microsoft.EntityFrameworkCore.Migrations;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

#nullable disable

namespace Hotlight.Store.Postgres.Migrations
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
                    CaseId = table.Column<Guid>(type: "uuid", nullable: false),
                    Called = table.Column<long>(type: "bigint", nullable: false),
                    CalledBy = table.Column<Guid>(type: "uuid", nullable: true)
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
                    Id = table.Column<Guid>(type: "uuid", nullable: false),
                    CaseId = table.Column<Guid>(type: "uuid", nullable: false),
                    CaseTitle = table.Column<string>(type: "character varying(200)", maxLength: 200, nullable: false, collation: "C"),
                    ProjectionId = table.Column<string>(type: "character varying(100)", maxLength: 100, nullable: false, collation: "C"),
                    ReaderId = table.Column<Guid>(type: "uuid", nullable: false),
                    ReaderPseudonym = table.Column<string>(type: "character varying(40)", maxLength: 40, nullable: false, collation: "C"),
                    ReaderRole = table.Column<int>(type: "integer", nullable: false),
                    IsInvented = table.Column<bool>(type: "boolean", nullable: false),
                    Number = table.Column<int>(type: "integer", nullable: false),
                    Condition = table.Column<int>(type: "integer", nullable: false),
                    AnswersJson = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Verdict = table.Column<string>(type: "character varying(40)", maxLength: 40, nullable: true, collation: "C"),
                    AnswerStep = table.Column<int>(type: "integer", nullable: false),
                    LastAnswerStep = table.Column<int>(type: "integer", nullable: false),
                    Version = table.Column<int>(type: "integer", nullable: false),
                    ReadingSeconds = table.Column<double>(type: "double precision", nullable: false),
                    Begun = table.Column<long>(type: "bigint", nullable: false),
                    Changed = table.Column<long>(type: "bigint", nullable: false),
                    Finished = table.Column<long>(type: "bigint", nullable: true),
                    ResultJson = table.Column<string>(type: "text", nullable: true, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Readings", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "Remarks",
                columns: table => new
                {
                    Id = table.Column<Guid>(type: "uuid", nullable: false),
                    CaseId = table.Column<Guid>(type: "uuid", nullable: false),
                    LineId = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: true, collation: "C"),
                    AuthorId = table.Column<Guid>(type: "uuid", nullable: false),
                    AuthorPseudonym = table.Column<string>(type: "character varying(40)", maxLength: 40, nullable: false, collation: "C"),
                    AuthorRole = table.Column<int>(type: "integer", nullable: false),
                    IsInvented = table.Column<bool>(type: "boolean", nullable: false),
                    Text = table.Column<string>(type: "character varying(1000)", maxLength: 1000, nullable: false, collation: "C"),
                    Written = table.Column<long>(type: "bigint", nullable: false),
                    Edited = table.Column<long>(type: "bigint", nullable: true),
                    Version = table.Column<int>(type: "integer", nullable: false)
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
                    Id = table.Column<Guid>(type: "uuid", nullable: false),
                    LearnerId = table.Column<Guid>(type: "uuid", nullable: false),
                    LearnerPseudonym = table.Column<string>(type: "character varying(40)", maxLength: 40, nullable: false, collation: "C"),
                    LearnerRole = table.Column<int>(type: "integer", nullable: false),
                    SupervisorId = table.Column<Guid>(type: "uuid", nullable: false),
                    SupervisorPseudonym = table.Column<string>(type: "character varying(40)", maxLength: 40, nullable: false, collation: "C"),
                    SupervisorRole = table.Column<int>(type: "integer", nullable: false),
                    IsInvented = table.Column<bool>(type: "boolean", nullable: false),
                    RequirementId = table.Column<Guid>(type: "uuid", nullable: false),
                    Requirement = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Stood = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Signed = table.Column<long>(type: "bigint", nullable: false),
                    Withdrawn = table.Column<long>(type: "bigint", nullable: true),
                    WithdrawnBy = table.Column<string>(type: "character varying(40)", maxLength: 40, nullable: true, collation: "C"),
                    WithdrawnReason = table.Column<string>(type: "character varying(500)", maxLength: 500, nullable: true, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_SignOffs", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "ReadingSteps",
                columns: table => new
                {
                    ReadingId = table.Column<Guid>(type: "uuid", nullable: false),
                    Step = table.Column<int>(type: "integer", nullable: false),
                    AnswersJson = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Verdict = table.Column<string>(type: "character varying(40)", maxLength: 40, nullable: true, collation: "C"),
                    Label = table.Column<string>(type: "character varying(300)", maxLength: 300, nullable: false, collation: "C"),
                    MergeKey = table.Column<string>(type: "character varying(200)", maxLength: 200, nullable: true, collation: "C"),
                    Given = table.Column<long>(type: "bigint", nullable: false)
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
                unique: true)
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Readings_Finished",
                table: "Readings",
                column: "Finished")
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Readings_ReaderId_Finished",
                table: "Readings",
                columns: new[] { "ReaderId", "Finished" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Remarks_CaseId_Written",
                table: "Remarks",
                columns: new[] { "CaseId", "Written" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_SignOffs_LearnerId_Signed",
                table: "SignOffs",
                columns: new[] { "LearnerId", "Signed" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });
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
