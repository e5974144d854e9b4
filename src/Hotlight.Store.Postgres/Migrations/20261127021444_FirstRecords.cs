using System;
using Microsoft.EntityFrameworkCore.Migrations;
using Npgsql.EntityFrameworkCore.PostgreSQL.Metadata;

#nullable disable

namespace Hotlight.Store.Postgres.Migrations
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
                    Id = table.Column<Guid>(type: "uuid", nullable: false),
                    Title = table.Column<string>(type: "character varying(200)", maxLength: 200, nullable: false, collation: "C"),
                    FileName = table.Column<string>(type: "character varying(255)", maxLength: 255, nullable: false, collation: "C"),
                    ContentHash = table.Column<string>(type: "character varying(64)", maxLength: 64, nullable: false, collation: "C"),
                    ContentBytes = table.Column<long>(type: "bigint", nullable: false),
                    ProjectionId = table.Column<string>(type: "character varying(100)", maxLength: 100, nullable: true, collation: "C"),
                    GivenRowSpacingMm = table.Column<double>(type: "double precision", nullable: true),
                    GivenColumnSpacingMm = table.Column<double>(type: "double precision", nullable: true),
                    MeasuredBy = table.Column<string>(type: "character varying(100)", maxLength: 100, nullable: false, collation: "C"),
                    MeasuredWith = table.Column<string>(type: "character varying(64)", maxLength: 64, nullable: false, collation: "C"),
                    Verdict = table.Column<string>(type: "character varying(40)", maxLength: 40, nullable: true, collation: "C"),
                    AnswerStep = table.Column<int>(type: "integer", nullable: false),
                    LastAnswerStep = table.Column<int>(type: "integer", nullable: false),
                    Version = table.Column<int>(type: "integer", nullable: false),
                    IsInvented = table.Column<bool>(type: "boolean", nullable: false),
                    FileCarriesPatientIdentity = table.Column<bool>(type: "boolean", nullable: false),
                    Created = table.Column<long>(type: "bigint", nullable: false),
                    Changed = table.Column<long>(type: "bigint", nullable: false),
                    Deleted = table.Column<long>(type: "bigint", nullable: true),
                    ReceivedBy = table.Column<int>(type: "integer", nullable: false),
                    PatientKey = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: true, collation: "C"),
                    PatientLabel = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: true, collation: "C"),
                    ExaminationKey = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: true, collation: "C"),
                    SeriesUid = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: true, collation: "C"),
                    SopInstanceUid = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: true, collation: "C"),
                    AccessionKey = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: true, collation: "C"),
                    AcquiredAt = table.Column<long>(type: "bigint", nullable: true),
                    Modality = table.Column<string>(type: "character varying(16)", maxLength: 16, nullable: true, collation: "C"),
                    Laterality = table.Column<string>(type: "character varying(16)", maxLength: 16, nullable: true, collation: "C"),
                    IsDeidentified = table.Column<bool>(type: "boolean", nullable: false),
                    AssigneeId = table.Column<Guid>(type: "uuid", nullable: true),
                    State = table.Column<int>(type: "integer", nullable: false),
                    Priority = table.Column<int>(type: "integer", nullable: false),
                    Tags = table.Column<string>(type: "character varying(200)", maxLength: 200, nullable: false, collation: "C"),
                    ReadingSeconds = table.Column<double>(type: "double precision", nullable: false),
                    FilingVersion = table.Column<int>(type: "integer", nullable: false),
                    SearchText = table.Column<string>(type: "text", nullable: true, collation: "C"),
                    TitleOrder = table.Column<string>(type: "character varying(200)", maxLength: 200, nullable: false, collation: "C"),
                    AssigneeOrder = table.Column<string>(type: "character varying(40)", maxLength: 40, nullable: true, collation: "C"),
                    ListOrder = table.Column<long>(type: "bigint", nullable: false),
                    Dated = table.Column<long>(type: "bigint", nullable: false),
                    ExaminationGroup = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: false, collation: "C"),
                    PatientGroup = table.Column<string>(type: "character varying(128)", maxLength: 128, nullable: false, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Cases", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "ClinicVersions",
                columns: table => new
                {
                    Number = table.Column<int>(type: "integer", nullable: false),
                    SettingsJson = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Label = table.Column<string>(type: "character varying(300)", maxLength: 300, nullable: false, collation: "C"),
                    Changed = table.Column<long>(type: "bigint", nullable: false),
                    ChangedBy = table.Column<Guid>(type: "uuid", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ClinicVersions", x => x.Number);
                });

            migrationBuilder.CreateTable(
                name: "Facts",
                columns: table => new
                {
                    Name = table.Column<string>(type: "character varying(100)", maxLength: 100, nullable: false, collation: "C"),
                    Value = table.Column<string>(type: "text", nullable: false, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Facts", x => x.Name);
                });

            migrationBuilder.CreateTable(
                name: "People",
                columns: table => new
                {
                    Id = table.Column<Guid>(type: "uuid", nullable: false),
                    Pseudonym = table.Column<string>(type: "character varying(40)", maxLength: 40, nullable: false, collation: "C"),
                    Role = table.Column<int>(type: "integer", nullable: false),
                    IsActive = table.Column<bool>(type: "boolean", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_People", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "AnswerSteps",
                columns: table => new
                {
                    CaseId = table.Column<Guid>(type: "uuid", nullable: false),
                    Step = table.Column<int>(type: "integer", nullable: false),
                    AnswersJson = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Verdict = table.Column<string>(type: "character varying(40)", maxLength: 40, nullable: true, collation: "C"),
                    Label = table.Column<string>(type: "character varying(300)", maxLength: 300, nullable: false, collation: "C"),
                    MergeKey = table.Column<string>(type: "character varying(200)", maxLength: 200, nullable: true, collation: "C"),
                    Given = table.Column<long>(type: "bigint", nullable: false),
                    GivenBy = table.Column<Guid>(type: "uuid", nullable: true)
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

            migrationBuilder.CreateTable(
                name: "CaseDocuments",
                columns: table => new
                {
                    CaseId = table.Column<Guid>(type: "uuid", nullable: false),
                    ExposureRecordJson = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    MeasurementsJson = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    AnswersJson = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    DeidentificationReportJson = table.Column<string>(type: "text", nullable: true, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_CaseDocuments", x => x.CaseId);
                    table.ForeignKey(
                        name: "FK_CaseDocuments_Cases_CaseId",
                        column: x => x.CaseId,
                        principalTable: "Cases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_ContentHash",
                table: "Cases",
                column: "ContentHash")
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_AssigneeId_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "AssigneeId", "ListOrder", "Id" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_AssigneeOrder_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "AssigneeOrder", "ListOrder", "Id" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Changed_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "Changed", "ListOrder", "Id" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Dated_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "Dated", "ListOrder", "Id" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_ExaminationGroup_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "ExaminationGroup", "ListOrder" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "ListOrder", "Id" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_PatientGroup_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "PatientGroup", "ListOrder" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_PatientLabel_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "PatientLabel", "ListOrder", "Id" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_ProjectionId_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "ProjectionId", "ListOrder", "Id" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_State_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "State", "ListOrder", "Id" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_State_Verdict_ReceivedBy",
                table: "Cases",
                columns: new[] { "Deleted", "State", "Verdict", "ReceivedBy" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_TitleOrder_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "TitleOrder", "ListOrder", "Id" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Verdict_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "Verdict", "ListOrder", "Id" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_SopInstanceUid",
                table: "Cases",
                column: "SopInstanceUid")
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Worklist",
                table: "Cases",
                columns: new[] { "Deleted", "ListOrder", "Id", "State", "Verdict", "ReceivedBy", "ProjectionId", "AssigneeId", "Dated", "IsInvented" })
                .Annotation("Npgsql:IndexNullSortOrder", new[] { NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst, NullSortOrder.NullsFirst });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "AnswerSteps");

            migrationBuilder.DropTable(
                name: "CaseDocuments");

            migrationBuilder.DropTable(
                name: "ClinicVersions");

            migrationBuilder.DropTable(
                name: "Facts");

            migrationBuilder.DropTable(
                name: "People");

            migrationBuilder.DropTable(
                name: "Cases");
        }
    }
}
