using System.Xml.Linq;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Measure.Document;

namespace Hotlight.Drawing.Tests;

public sealed class OverlayMarksTests
{
    [Fact]
    public void From_AnatomyThatLeavesTheField_DrawsSkinOnlyWhereSkinIs()
    {
        Radiograph radiograph = Specimen.Radiograph(1000, 1200);
        OverlayMark[] skin = [.. Marks(Specimen.Measured(radiograph), radiograph).Where(mark => mark.Kind == MarkKind.SkinOutline)];

        // The outline is one closed polygon; along the top and the bottom of the field it is no skin: two open lines are left, left and right.
        Assert.Equal(2, skin.Length);
        Assert.All(skin, line => Assert.False(line.IsClosed));
        Assert.All(skin, line => Assert.Equal(41, line.Points.Count));
    }

    [Fact]
    public void From_SkinWhollyInsideTheField_IsOneClosedLine()
    {
        Radiograph radiograph = Specimen.Radiograph(1000, 1200);
        MeasurementDocument document = Specimen.Measured(radiograph);
        document = document with
        {
            Anatomy = Figure<AnatomyMeasurement>.Measured(document.Anatomy.Value! with { Outlines = [[new(X: 300, Y: 300), new(X: 600, Y: 300), new(X: 450, Y: 700)]] }),
        };
        OverlayMark skin = Assert.Single(Marks(document, radiograph), mark => mark.Kind == MarkKind.SkinOutline);
        Assert.True(skin.IsClosed);
        Assert.Equal(3, skin.Points.Count);
    }

    [Fact]
    public void From_TighterFieldThatKeepsTopAndBottom_DrawsOnlyTheSidesThatMove()
    {
        Radiograph radiograph = Specimen.Radiograph(1000, 1200);
        MeasurementDocument document = Specimen.Measured(radiograph);
        OverlayMark[] sides = [.. Marks(document, radiograph).Where(mark => mark.Kind == MarkKind.TighterField)];
        IReadOnlyList<PixelPoint> tighter = document.Collimation.Value!.TighterField;
        Assert.Equal(2, sides.Length);
        Assert.Contains(sides, side => side.Points.SequenceEqual([tighter[1], tighter[2]]));
        Assert.Contains(sides, side => side.Points.SequenceEqual([tighter[3], tighter[0]]));
    }

    [Fact]
    public void From_TighterFieldNoSmallerThanTheField_IsNotDrawn()
    {
        Radiograph radiograph = Specimen.Radiograph(1000, 1200);
        MeasurementDocument document = Specimen.Measured(radiograph);
        document = document with { Collimation = Figure<CollimationMeasurement>.Measured(document.Collimation.Value! with { AreaReductionPercent = 0.2 }) };
        Assert.DoesNotContain(Marks(document, radiograph), mark => mark.Kind == MarkKind.TighterField);
    }

    [Fact]
    public void From_FourBeamEdges_IsOneClosedLine()
    {
        Radiograph radiograph = Specimen.Radiograph(1000, 1200);
        MeasurementDocument document = Specimen.Measured(radiograph);
        FieldMeasurement field = document.Field.Value!;
        document = document with { Field = Figure<FieldMeasurement>.Measured(field with { Sides = [.. field.Sides.Select(side => side with { Edge = FieldEdge.Beam })] }) };
        OverlayMark line = Assert.Single(Marks(document, radiograph), mark => mark.Kind == MarkKind.FieldBeamEdge);
        Assert.True(line.IsClosed);
        Assert.Equal(field.Outline, line.Points);
    }

    [Fact]
    public void From_MixedEdges_EachSideIsOnALineOfItsKind()
    {
        Radiograph radiograph = Specimen.Radiograph(1000, 1200);
        MeasurementDocument document = Specimen.Measured(radiograph);
        IReadOnlyList<PixelPoint> outline = document.Field.Value!.Outline;
        IReadOnlyList<OverlayMark> marks = Marks(document, radiograph);
        Assert.Equal([outline[3], outline[0], outline[1]], Assert.Single(marks, mark => mark.Kind == MarkKind.FieldBeamEdge).Points); // left and top run on around the corner
        Assert.Equal([outline[1], outline[2]], Assert.Single(marks, mark => mark.Kind == MarkKind.FieldMaskEdge).Points);
        Assert.Equal([outline[2], outline[3]], Assert.Single(marks, mark => mark.Kind == MarkKind.FieldReceptorEdge).Points);
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void PiecesOf_TiltedFieldCutByTheBorder_TellsBeamFromReceptor()
    {
        // A square field turned by 30 degrees whose right corner the border of a 1000 × 1000 image cuts off: five corners.
        const double Half = 480;
        (double cos, double sin) = (Math.Cos(Math.PI / 6), Math.Sin(Math.PI / 6));
        PixelPoint Corner(double x, double y) => new(X: 500 + (x * cos) - (y * sin), Y: 500 + (x * sin) + (y * cos));
        PixelPoint upperLeft = Corner(-Half, -Half);
        PixelPoint upperRight = Corner(Half, -Half);
        PixelPoint lowerRight = Corner(Half, Half);
        PixelPoint lowerLeft = Corner(-Half, Half);
        PixelPoint CutAtRight(PixelPoint from, PixelPoint to)
            => new(X: 999.5, Y: from.Y + ((999.5 - from.X) / (to.X - from.X) * (to.Y - from.Y)));
        var field = new FieldMeasurement
        {
            Outline = [upperLeft, CutAtRight(upperLeft, upperRight), CutAtRight(upperRight, lowerRight), lowerRight, lowerLeft],
            AreaPercentOfImage = 80,
            Sides = [.. Enum.GetValues<FieldSide>().Select(side => new FieldSideMeasurement { Side = side, Edge = FieldEdge.Beam, TiltDegrees = 30 })],
        };
        IReadOnlyList<FieldOutlinePiece> pieces = OverlayMarks.PiecesOf(field, columns: 1000, rows: 1000);
        Assert.Equal([FieldEdge.Beam, FieldEdge.Receptor, FieldEdge.Beam, FieldEdge.Beam, FieldEdge.Beam], pieces.Select(piece => piece.Edge));
        Assert.Equal(FieldSide.Top, pieces[0].Side);
        Assert.Equal([FieldSide.Right, FieldSide.Bottom, FieldSide.Left], pieces.Skip(2).Select(piece => piece.Side));
    }

    [Fact]
    public void From_NothingTold_DrawsNothing()
    {
        Radiograph radiograph = Specimen.Radiograph(100, 120);
        Assert.Empty(Marks(Specimen.CannotTell(radiograph), radiograph));
    }

    [Fact]
    public void Write_MeasuredDocument_IsOneSvgThatSharesTheTableOfStyles()
    {
        Radiograph radiograph = Specimen.Radiograph(1000, 1200, fileName: "a<b>&\"c\".dcm");
        XElement svg = XElement.Parse(OverlaySvg.Write(Specimen.Measured(radiograph), radiograph.Columns, radiograph.Rows));
        XNamespace ns = "http://www.w3.org/2000/svg";
        Assert.Equal("-0.5 -0.5 1000 1200", (string?)svg.Attribute("viewBox"));
        Assert.Contains("a<b>&\"c\".dcm", (string?)svg.Attribute("aria-label"));
        XElement[] groups = [.. svg.Elements(ns + "g")];
        Assert.Equal(7, groups.Length);
        XElement mask = groups.Single(group => (string?)group.Attribute("class") == "field-mask-edge");
        Assert.Equal("Field, mask edge", (string?)mask.Element(ns + "title"));
        XElement[] paths = [.. mask.Elements(ns + "path")];
        Assert.Equal(2, paths.Length);
        Assert.Equal(MarkStyles.CasingColor, (string?)paths[0].Attribute("stroke"));
        Assert.Equal(MarkStyles.Of(MarkKind.FieldMaskEdge).Color, (string?)paths[1].Attribute("stroke"));
        Assert.Equal("24 12", (string?)paths[1].Attribute("stroke-dasharray"));
        Assert.Equal("M899.5 101.5L899.5 1199.5", (string?)paths[1].Attribute("d")); // 0.9 and 0.085 of the image, less half a pixel
    }

    private static IReadOnlyList<OverlayMark> Marks(MeasurementDocument document, Radiograph radiograph)
        => OverlayMarks.From(document, radiograph.Columns, radiograph.Rows);
}
