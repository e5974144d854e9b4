using System;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Hotlight.Store.Sqlite.Migrations
{
    /// <inheritdoc />
    internal sealed partial class WorklistAndClinic : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "AccessionKey",
                table: "Cases",
                type: "TEXT",
                maxLength: 128,
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "AcquiredAt",
                table: "Cases",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<Guid>(
                name: "AssigneeId",
                table: "Cases",
                type: "TEXT",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "Dated",
                table: "Cases",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<string>(
                name: "ExaminationGroup",
                table: "Cases",
                type: "TEXT",
                maxLength: 128,
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<string>(
                name: "ExaminationKey",
                table: "Cases",
                type: "TEXT",
                maxLength: 128,
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "FilingVersion",
                table: "Cases",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<bool>(
                name: "IsDeidentified",
                table: "Cases",
                type: "INTEGER",
                nullable: false,
                defaultValue: false);

            migrationBuilder.AddColumn<string>(
                name: "Laterality",
                table: "Cases",
                type: "TEXT",
                maxLength: 16,
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "ListOrder",
                table: "Cases",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<string>(
                name: "MeasuredWith",
                table: "Cases",
                type: "TEXT",
                maxLength: 64,
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<string>(
                name: "Modality",
                table: "Cases",
                type: "TEXT",
                maxLength: 16,
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "PatientGroup",
                table: "Cases",
                type: "TEXT",
                maxLength: 128,
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<string>(
                name: "PatientKey",
                table: "Cases",
                type: "TEXT",
                maxLength: 128,
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "PatientLabel",
                table: "Cases",
                type: "TEXT",
                maxLength: 128,
                nullable: true,
                collation: "NOCASE");

            migrationBuilder.AddColumn<int>(
                name: "Priority",
                table: "Cases",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<double>(
                name: "ReadingSeconds",
                table: "Cases",
                type: "REAL",
                nullable: false,
                defaultValue: 0.0);

            migrationBuilder.AddColumn<int>(
                name: "ReceivedBy",
                table: "Cases",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<string>(
                name: "SearchText",
                table: "Cases",
                type: "TEXT",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "SeriesUid",
                table: "Cases",
                type: "TEXT",
                maxLength: 128,
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "SopInstanceUid",
                table: "Cases",
                type: "TEXT",
                maxLength: 128,
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "State",
                table: "Cases",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<string>(
                name: "Tags",
                table: "Cases",
                type: "TEXT",
                maxLength: 200,
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<string>(
                name: "TitleOrder",
                table: "Cases",
                type: "TEXT",
                maxLength: 200,
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<Guid>(
                name: "GivenBy",
                table: "AnswerSteps",
                type: "TEXT",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "CaseDocuments",
                columns: table => new
                {
                    CaseId = table.Column<Guid>(type: "TEXT", nullable: false),
                    ExposureRecordJson = table.Column<string>(type: "TEXT", nullable: false),
                    MeasurementsJson = table.Column<string>(type: "TEXT", nullable: false),
                    AnswersJson = table.Column<string>(type: "TEXT", nullable: false),
                    DeidentificationReportJson = table.Column<string>(type: "TEXT", nullable: true)
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

            migrationBuilder.CreateTable(
                name: "ClinicVersions",
                columns: table => new
                {
                    Number = table.Column<int>(type: "INTEGER", nullable: false),
                    SettingsJson = table.Column<string>(type: "TEXT", nullable: false),
                    Label = table.Column<string>(type: "TEXT", maxLength: 300, nullable: false),
                    Changed = table.Column<long>(type: "INTEGER", nullable: false),
                    ChangedBy = table.Column<Guid>(type: "TEXT", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ClinicVersions", x => x.Number);
                });

            migrationBuilder.CreateTable(
                name: "People",
                columns: table => new
                {
                    Id = table.Column<Guid>(type: "TEXT", nullable: false),
                    Pseudonym = table.Column<string>(type: "TEXT", maxLength: 40, nullable: false, collation: "NOCASE"),
                    Role = table.Column<int>(type: "INTEGER", nullable: false),
                    IsActive = table.Column<bool>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_People", x => x.Id);
                });

            // The long texts go into a table of their own. Plain statements: the whole step is one transaction, and a killed bench starts it anew.
            migrationBuilder.Sql("INSERT INTO CaseDocuments (CaseId, ExposureRecordJson, MeasurementsJson, AnswersJson) SELECT Id, ExposureRecordJson, MeasurementsJson, AnswersJson FROM Cases;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN ExposureRecordJson;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN MeasurementsJson;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN AnswersJson;");

            // Invented cases were the demo set's or, by their file's name, the phantom lab's; whatever was answered is in work.
            migrationBuilder.Sql("UPDATE Cases SET FilingVersion = 1, State = CASE WHEN LastAnswerStep > 0 THEN 1 ELSE 0 END, ReceivedBy = CASE WHEN IsInvented = 0 THEN 0 WHEN FileName LIKE 'phantom-lab-%' THEN 5 ELSE 4 END;");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_Created",
                table: "Cases");

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_AssigneeId_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "AssigneeId", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Changed_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "Changed", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Dated_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "Dated", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_ExaminationGroup",
                table: "Cases",
                columns: new[] { "Deleted", "ExaminationGroup" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_PatientGroup",
                table: "Cases",
                columns: new[] { "Deleted", "PatientGroup" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_PatientLabel_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "PatientLabel", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_ProjectionId_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "ProjectionId", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_State_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "State", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_State_Verdict_ReceivedBy",
                table: "Cases",
                columns: new[] { "Deleted", "State", "Verdict", "ReceivedBy" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_TitleOrder_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "TitleOrder", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Verdict_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "Verdict", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_SopInstanceUid",
                table: "Cases",
                column: "SopInstanceUid");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "ClinicVersions");

            migrationBuilder.DropTable(
                name: "People");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_AssigneeId_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_Changed_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_Dated_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_ExaminationGroup",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_PatientGroup",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_PatientLabel_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_ProjectionId_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_State_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_State_Verdict_ReceivedBy",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_TitleOrder_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_Verdict_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_SopInstanceUid",
                table: "Cases");

            migrationBuilder.AddColumn<string>(
                name: "AnswersJson",
                table: "Cases",
                type: "TEXT",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<string>(
                name: "ExposureRecordJson",
                table: "Cases",
                type: "TEXT",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<string>(
                name: "MeasurementsJson",
                table: "Cases",
                type: "TEXT",
                nullable: false,
                defaultValue: "");

            migrationBuilder.Sql("UPDATE Cases SET (ExposureRecordJson, MeasurementsJson, AnswersJson) = (SELECT ExposureRecordJson, MeasurementsJson, AnswersJson FROM CaseDocuments WHERE CaseId = Cases.Id);");

            migrationBuilder.DropTable(
                name: "CaseDocuments");

            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN AccessionKey;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN AcquiredAt;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN AssigneeId;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN Dated;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN ExaminationGroup;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN ExaminationKey;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN FilingVersion;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN IsDeidentified;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN Laterality;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN ListOrder;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN MeasuredWith;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN Modality;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN PatientGroup;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN PatientKey;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN PatientLabel;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN Priority;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN ReadingSeconds;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN ReceivedBy;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN SearchText;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN SeriesUid;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN SopInstanceUid;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN State;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN Tags;");
            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN TitleOrder;");
            migrationBuilder.Sql("ALTER TABLE AnswerSteps DROP COLUMN GivenBy;");

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Created",
                table: "Cases",
                columns: new[] { "Deleted", "Created" });
        }
    }
}
