using Hotlight.Simulation.Scene;

namespace Hotlight.Simulation.Tests.Scene;

public sealed class SceneJsonTests
{
    private const string Good = """{"schema":"hotlight.scene/1","part":{"name":"wrist","view":"pa"}}""";

    [Fact]
    [Trait("evidence", "invariant")]
    public void Read_WhatWasWritten_IsTheSame()
    {
        SceneDocument scene = SceneJson.Read(Good, "a.json") with { Marker = new SceneMarker { Letter = "R", CentreMm = [1, 2] }, Objects = [new SceneObject { Kind = "zip" }] };
        string written = SceneJson.Write(scene);
        Assert.Equal(written, SceneJson.Write(SceneJson.Read(written, "b.json")));
    }

    [Theory]
    [Trait("evidence", "invariant")]
    [InlineData("", "this is not JSON")]
    [InlineData("[]", "a scene is one object")]
    [InlineData("""{"part":{"name":"wrist","view":"pa"}}""", "the member schema is missing")]
    [InlineData("""{"schema":"hotlight.scene/9"}""", "this version reads 'hotlight.scene/1'")]
    [InlineData("""{"schema":"hotlight.scene/1","tub":{}}""", "no member 'tub'")]
    [InlineData("""{"schema":"hotlight.scene/1","tube":{"kvp":60}}""", "no member 'tube.kvp'")]
    [InlineData("""{"schema":"hotlight.scene/1","tube":{"tubeVoltageKvp":"high"}}""", "'tube.tubeVoltageKvp' is not of the kind")]
    [InlineData("""{"schema":"hotlight.scene/1","part":{"name":"wrist"}}""", "'part' needs the member view")]
    [InlineData("""{"schema":"hotlight.scene/1"}""", "nothing is in the beam")]
    [InlineData("""{"schema":"hotlight.scene/1","part":{"name":"tail","view":"pa"}}""", "no part 'tail'")]
    [InlineData("""{"schema":"hotlight.scene/1","part":{"name":"wrist","view":"sunrise"}}""", "no view 'sunrise'")]
    [InlineData("""{"schema":"hotlight.scene/1","part":{"name":"knee","view":"ap","joints":{"kneeFlexion":400}}}""", "kneeFlexion of the knee goes from")]
    [InlineData("""{"schema":"hotlight.scene/1","part":{"name":"wrist","view":"pa"},"tube":{"tubeVoltageKvp":700}}""", "tube.tubeVoltageKvp is 700; it goes from 40 to 150 kVp")]
    [InlineData("""{"schema":"hotlight.scene/1","part":{"name":"wrist","view":"pa"},"tube":{"filters":[{"material":"cheese","thicknessMm":1}]}}""", "no material 'cheese'")]
    [InlineData("""{"schema":"hotlight.scene/1","part":{"name":"wrist","view":"pa"},"receptor":{"widthMm":600,"heightMm":600,"spacingMm":0.05}}""", "million pixels")]
    [InlineData("""{"schema":"hotlight.scene/1","meshes":[{"file":"../secret.stl","unit":"mm"}]}""", "leads out of the scene's folder")]
    [InlineData("""{"schema":"hotlight.scene/1","part":{"name":"wrist","view":"pa"},"marker":{"letter":"Q","centreMm":[0,0]}}""", "marker.letter is 'Q'")]
    [InlineData("""{"schema":"hotlight.scene/1","part":{"name":"wrist","view":"pa"},"marker":{"letter":"R","centreMm":[0]}}""", "marker.centreMm has 1 numbers; it takes 2")]
    [InlineData("""{"schema":"hotlight.scene/1","id":"../x","part":{"name":"wrist","view":"pa"}}""", "id names the files")]
    public void Read_BadScene_SaysInOneSentenceWhatIsWrong(string json, string expected)
    {
        UnreadableSceneException error = Assert.Throws<UnreadableSceneException>(() => SceneJson.Read(json, "scene.json"));
        Assert.Contains(expected, error.Message, StringComparison.Ordinal);
        Assert.StartsWith("scene.json: ", error.Message, StringComparison.Ordinal);
        Assert.DoesNotContain('\n', error.Message);
        Assert.DoesNotContain("System.", error.Message, StringComparison.Ordinal);
    }

    public static TheoryData<string, string> Views
    {
        get
        {
            TheoryData<string, string> views = [];
            foreach (LabPart part in Lab.Parts)
            {
                foreach (LabView view in part.Views)
                {
                    views.Add(part.Name, view.Name);
                }
            }

            return views;
        }
    }

    [Theory]
    [MemberData(nameof(Views))]
    [Trait("evidence", "invariant")]
    public void For_EveryView_IsASceneThatReadsBack(string part, string view)
    {
        SceneDocument scene = SceneStarts.For(part, view);
        Assert.Equal(SceneJson.Write(scene), SceneJson.Write(SceneJson.Read(SceneJson.Write(scene), "start.json")));
    }
}
