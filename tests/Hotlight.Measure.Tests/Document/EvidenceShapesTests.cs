using Hotlight.Core;
using Hotlight.Measure.Document;

namespace Hotlight.Measure.Tests.Document;

/// <summary>What was found is drawn where it was found.</summary>
public class EvidenceShapesTests
{
    [Fact]
    public void Of_Edge_RunsAcrossItsNormal()
    {
        var sharpness = new SharpnessMeasurement { Edges = [new SharpEdge { At = new PixelPoint(100, 200), NormalDegrees = 30 }] };

        EvidenceShape shape = Assert.Single(EvidenceShapes.Of(sharpness));

        (double x, double y) = (shape.Points[1].X - shape.Points[0].X, shape.Points[1].Y - shape.Points[0].Y);
        Assert.False(shape.IsClosed);
        Assert.Equal(0, (x * Math.Cos(Math.PI / 6)) + (y * Math.Sin(Math.PI / 6)), 1e-9);
        Assert.Equal(100, (shape.Points[0].X + shape.Points[1].X) / 2, 1e-9);
        Assert.Empty(EvidenceShapes.Of(new SharpnessMeasurement()));
    }

    [Fact]
    public void Of_Artifact_IsItsOutlineElseItsLineElseItsPlaces()
    {
        var artifact = new FoundArtifact { Kind = ArtifactKind.DeadLine, Center = new PixelPoint(5, 50), LineFrom = new PixelPoint(5, 0), LineTo = new PixelPoint(5, 100) };

        Assert.Equal([new PixelPoint(5, 0), new PixelPoint(5, 100)], Assert.Single(EvidenceShapes.Of(artifact)).Points);
        Assert.Equal(3, Assert.Single(EvidenceShapes.Of(artifact with { Outline = [new(0, 0), new(9, 0), new(9, 9)] })).Points.Count);
        Assert.Equal(2, EvidenceShapes.Of(new FoundArtifact { Kind = ArtifactKind.DeadPixels, Center = new PixelPoint(5, 5), Places = [new(1, 1), new(9, 9)] }).Count);
        Assert.Empty(EvidenceShapes.Of(new FoundArtifact { Kind = ArtifactKind.GridLines, Center = new PixelPoint(5, 5) }));
    }
}
