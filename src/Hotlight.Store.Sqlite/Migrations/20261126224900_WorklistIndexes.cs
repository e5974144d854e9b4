using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace Hotlight.Store.Sqlite.Migrations
{
    /// <inheritdoc />
    internal sealed partial class WorklistIndexes : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
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
                name: "IX_Cases_Deleted_TitleOrder_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_Verdict_ListOrder",
                table: "Cases");

            migrationBuilder.AddColumn<string>(
                name: "AssigneeOrder",
                table: "Cases",
                type: "TEXT",
                maxLength: 40,
                nullable: true);

            migrationBuilder.Sql("UPDATE Cases SET AssigneeOrder = (SELECT lower(Pseudonym) FROM People WHERE People.Id = Cases.AssigneeId) WHERE AssigneeId IS NOT NULL;");

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_AssigneeId_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "AssigneeId", "ListOrder", "Id" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_AssigneeOrder_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "AssigneeOrder", "ListOrder", "Id" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Changed_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "Changed", "ListOrder", "Id" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Dated_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "Dated", "ListOrder", "Id" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_ExaminationGroup_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "ExaminationGroup", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "ListOrder", "Id" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_PatientGroup_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "PatientGroup", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_PatientLabel_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "PatientLabel", "ListOrder", "Id" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_ProjectionId_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "ProjectionId", "ListOrder", "Id" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_State_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "State", "ListOrder", "Id" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_TitleOrder_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "TitleOrder", "ListOrder", "Id" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Verdict_ListOrder_Id",
                table: "Cases",
                columns: new[] { "Deleted", "Verdict", "ListOrder", "Id" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Worklist",
                table: "Cases",
                columns: new[] { "Deleted", "ListOrder", "Id", "State", "Verdict", "ReceivedBy", "ProjectionId", "AssigneeId", "Dated", "IsInvented", "SearchText" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_AssigneeId_ListOrder_Id",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_AssigneeOrder_ListOrder_Id",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_Changed_ListOrder_Id",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_Dated_ListOrder_Id",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_ExaminationGroup_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_ListOrder_Id",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_PatientGroup_ListOrder",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_PatientLabel_ListOrder_Id",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_ProjectionId_ListOrder_Id",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_State_ListOrder_Id",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_TitleOrder_ListOrder_Id",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Deleted_Verdict_ListOrder_Id",
                table: "Cases");

            migrationBuilder.DropIndex(
                name: "IX_Cases_Worklist",
                table: "Cases");

            migrationBuilder.Sql("ALTER TABLE Cases DROP COLUMN AssigneeOrder;");

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
                name: "IX_Cases_Deleted_TitleOrder_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "TitleOrder", "ListOrder" });

            migrationBuilder.CreateIndex(
                name: "IX_Cases_Deleted_Verdict_ListOrder",
                table: "Cases",
                columns: new[] { "Deleted", "Verdict", "ListOrder" });
        }
    }
}
