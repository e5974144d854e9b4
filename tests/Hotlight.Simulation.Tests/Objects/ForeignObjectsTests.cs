using System.Numerics;
using Hotlight.Simulation.Attenuation;
using Hotlight.Simulation.Objects;
using Hotlight.Simulation.Phantom;
using Hotlight.Simulation.Scene;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Objects;

public sealed class ForeignObjectsTests
{
    [Fact]
    [Trait("evidence", "analytic")]
    public void Word_OfLead_IsAsHighAsItsLettersAndAsLongAsTheyStandSideBySide()
    {
        Letter word = new("LI", 14, 1.2);

        // Middle lines: L 7.2 wide, a gap of 4.4, I of no width: 11.6 from the first stem to the second; the strokes are 2.5 wide.
        Assert.True(word.FromStrokes(new(-5.8f, 0)) < 1e-4f);
        Assert.True(word.FromStrokes(new(5.8f, 0)) < 1e-4f);
        Assert.Equal(1.25f, word.HalfStrokeMm);
        Assert.True(word.FromStrokes(new(5.8f, -5.8f)) < 1e-4f);
        Assert.Equal(2.2f, word.FromStrokes(new(3.6f, 0)), 1e-4f);
    }

    [Theory]
    [InlineData("RIGHT")]
    [InlineData("ABCDEFGH")]
    [InlineData("IJKMNOPQ")]
    [InlineData("STUVWXYZ")]
    public void Build_WordOfLead_IsClosed(string word)
    {
        SceneMarker marker = new() { Letter = "R", Word = word, CentreMm = [0, 0], HeightMm = 6 };

        BeamItem lead = SideMarkers.Build(marker).Single(item => item.Material == "lead");

        Assert.True(lead.Mesh.IsClosed);
    }

    [Theory]
    [InlineData("ring")]
    [InlineData("zip")]
    [InlineData("pin")]
    [InlineData("necklace")]
    [InlineData("button")]
    [InlineData("wire")]
    [InlineData("electrode")]
    [InlineData("shield")]
    [InlineData("screw-plate")]
    [InlineData("slab")]
    [Trait("evidence", "invariant")]
    public void Build_EveryKind_IsClosedAndOfAKnownMaterial(string kind)
    {
        IReadOnlyList<BeamItem> items = ForeignObjects.Build(new SceneObject { Kind = kind, CentreMm = [10, -5, 60] }, null);
        Assert.NotEmpty(items);
        Assert.All(items, item =>
        {
            Assert.True(item.Mesh.IsClosed, $"{item.Mesh.OpenEdges} open edges");
            Assert.True(item.Mesh.VolumeMm3 > 0, "turned inside out");
            Assert.NotNull(Material.ByName(item.Material));
        });
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Build_RingRoundAFinger_GoesRoundTheBoneAndItsVolumeIsThatOfATorus()
    {
        Body body = PartPhantoms.ByName("wrist").Build(new PartForm());
        Bone bone = body.Bones.First(each => each.Name.Contains("proximal phalanx", StringComparison.Ordinal));
        BeamItem ring = Assert.Single(ForeignObjects.Build(new SceneObject { Kind = "ring", Bone = bone.Name }, body));
        Assert.True(ring.MovesWithPart);

        // Pappus: 2π²·R·r² with r = 1.1 mm; R from the mesh's own widest reach across its middle, less r. Facets of 96 by 32: 1 %.
        Box bounds = ring.Mesh.Bounds;
        Vector3 centre = (bounds.Minimum + bounds.Maximum) / 2;
        float reach = 0;
        foreach (Vector3 vertex in ring.Mesh.Vertices)
        {
            reach = MathF.Max(reach, Vector3.Distance(vertex, centre));
        }

        double radius = reach - 1.1;
        Assert.Equal(2 * Math.PI * Math.PI * radius * 1.1 * 1.1, ring.Mesh.VolumeMm3, 0.01 * ring.Mesh.VolumeMm3);
        Assert.InRange(radius, 5, 15);
        Assert.True(bone.Surface.Distance(Inverse(bone.Pose, centre)) < 3, "the ring's middle lies off the bone");
    }

    [Fact]
    [Trait("evidence", "analytic")]
    public void Build_Cast_IsAShellOfItsThickness()
    {
        Body body = PartPhantoms.ByName("wrist").Build(new PartForm());
        IReadOnlyList<BeamItem> cast = ForeignObjects.Build(new SceneObject { Kind = "cast", ThicknessMm = 6 }, body);
        Assert.Equal(2, cast.Count);
        Assert.Equal(0, cast.Sum(item => item.Share));
        Assert.True(cast[0].Mesh.VolumeMm3 > cast[1].Mesh.VolumeMm3);

        // Across the forearm's flanks the outer surface lies 6 mm outside the inner one: distances are first order there, 0.7 mm.
        float outer = cast[0].Mesh.Bounds.Maximum.Z;
        float inner = cast[1].Mesh.Bounds.Maximum.Z;
        Assert.Equal(6, outer - inner, 0.7);
    }

    [Theory]
    [InlineData("ring", "femur", "no bone 'femur'")]
    [InlineData("cast", null, "needs a part")]
    [Trait("evidence", "invariant")]
    public void Build_WithoutWhatItNeeds_IsRefused(string kind, string? bone, string expected)
    {
        Body? body = bone is null ? null : PartPhantoms.ByName("wrist").Build(new PartForm());
        ArgumentException error = Assert.Throws<ArgumentException>(() => ForeignObjects.Build(new SceneObject { Kind = kind, Bone = bone }, body));
        Assert.Contains(expected, error.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("R", false)]
    [InlineData("L", true)]
    [Trait("evidence", "analytic")]
    public void SideMarker_Lead_HasTheVolumeOfItsStrokesTimesItsThickness(string letter, bool mirrored)
    {
        SceneMarker marker = new() { Letter = letter, CentreMm = [0, 0], HeightMm = 14, Mirrored = mirrored };
        BeamItem lead = SideMarkers.Build(marker).Single(item => item.Material == "lead");
        Assert.True(lead.Mesh.IsClosed);

        // Area of the letter by counting points of a grid of 0.05 mm inside its strokes; 1.2 mm of lead. Cells of 0.3 mm round the edges: 4 %.
        Letter drawn = new(letter, 14, 1.2);
        long inside = 0;
        for (int row = -200; row < 200; row++)
        {
            for (int column = -200; column < 200; column++)
            {
                inside += drawn.FromStrokes(new Vector2((column + 0.5f) * 0.05f, (row + 0.5f) * 0.05f)) < drawn.HalfStrokeMm ? 1 : 0;
            }
        }

        Assert.Equal(inside * 0.0025 * 1.2, lead.Mesh.VolumeMm3, 0.04 * lead.Mesh.VolumeMm3);

        // Face down: its frame is turned over, not its shape mirrored.
        Assert.Equal(mirrored ? -1 : 1, lead.Pose.Z.Z, 1e-6);
    }

    private static Vector3 Inverse(Pose pose, Vector3 outer) => pose.ToLocal(outer);
}
