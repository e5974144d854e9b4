using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Web.Tests;

public sealed class LabScenesTests
{
    public static TheoryData<string> Views => new(Lab.Parts.SelectMany(part => part.Views.Select(view => $"{part.Name}:{view.Name}")));

    [Theory]
    [MemberData(nameof(Views))]
    public void Settings_OfEveryView_GiveBackWhatTheySetAndLeaveTheRestAlone(string name)
    {
        (string partName, string view) = (name.Split(':')[0], name.Split(':')[1]);
        LabPart part = Lab.Parts.First(each => each.Name == partName);
        SceneDocument start = LabScenes.StartOf(part, view, "R", "adult");
        IReadOnlyList<LabSetting> settings = LabSetting.For(start, part);
        Assert.Equal(settings.Count, settings.Select(each => each.Key).Distinct().Count());
        foreach (LabSetting setting in settings)
        {
            Assert.InRange(setting.Get(start), setting.Minimum, setting.Maximum);
            double other = setting.At(setting.First + (0.3 * (setting.Last - setting.First)));
            SceneDocument set = setting.Set(start, other);
            Assert.Equal(other, setting.Get(set), 9);

            // What a slider can reach can be exposed.
            Assert.Equal(other, setting.Get(SceneJson.Read(SceneJson.Write(set), set.Id)), 9);
            foreach (LabSetting rest in settings.Where(each => each != setting))
            {
                Assert.Equal(rest.Get(start), rest.Get(set));
            }
        }
    }

    [Fact]
    public void LogarithmicSetting_Middle_IsTheStart()
    {
        (SceneDocument start, LabPart part) = Knee();
        LabSetting mas = LabSetting.For(start, part).First(each => each.Key == "mas");
        Assert.Equal(50, mas.Position(start.Tube.ExposureMas), 6);
        Assert.Equal(start.Tube.ExposureMas, mas.At(50), 6);
        Assert.Equal(10 * start.Tube.ExposureMas, mas.At(100), 6);
    }

    [Fact]
    public void Undo_AfterADrag_GoesBackToBeforeIt()
    {
        (SceneDocument start, LabPart part) = Knee();
        LabSetting turn = LabSetting.For(start, part).First(each => each.Key == "turn");
        var scenes = new LabScenes(start);
        scenes.Set(turn.Set(scenes.Scene, 3), "turn");
        scenes.Set(turn.Set(scenes.Scene, 7), "turn");
        scenes.Settle();
        scenes.Set(turn.Set(scenes.Scene, 9), "turn");

        scenes.Undo();
        Assert.Equal(7, turn.Get(scenes.Scene));
        scenes.Undo();
        Assert.Equal(0, turn.Get(scenes.Scene));
        Assert.False(scenes.CanUndo);
        scenes.Redo();
        Assert.Equal(7, turn.Get(scenes.Scene));

        // A new step takes the place of those that were taken back.
        scenes.Set(turn.Set(scenes.Scene, 1), "turn");
        Assert.False(scenes.CanRedo);
        scenes.Undo();
        Assert.Equal(7, turn.Get(scenes.Scene));
    }

    [Fact]
    public void Set_SceneThatCannotBeExposed_RefusesAndKeepsTheScene()
    {
        (SceneDocument start, _) = Knee();
        var scenes = new LabScenes(start);
        UnreadableSceneException refused = Assert.Throws<UnreadableSceneException>(() => scenes.Set(start with { Tube = start.Tube with { ExposureMas = 5000 } }));
        Assert.Contains("exposureMas is 5000", refused.Reason, StringComparison.Ordinal);
        Assert.Same(start, scenes.Scene);
        Assert.False(scenes.CanUndo);
    }

    [Fact]
    public void StartOf_LeftKnee_IsTheMirrorImage()
    {
        (SceneDocument right, LabPart part) = Knee();
        SceneDocument left = LabScenes.StartOf(part, "ap", "L", "adult");
        Assert.Equal("L", left.Part!.Side);
        Assert.Equal("L", left.Marker!.Letter);
        Assert.Equal(-right.Marker!.CentreMm[0], left.Marker.CentreMm[0]);
        Assert.Equal(right.Marker.CentreMm[1], left.Marker.CentreMm[1]);
    }

    [Theory]
    [InlineData("lumbarSpine", "Lumbar spine")]
    [InlineData("ankle-ap", "Ankle AP")]
    [InlineData("foot-dp", "Foot DP")]
    public void Words_OfLabNames_AreSpaced(string name, string words) => Assert.Equal(words, Words.OfLab(name));

    [Fact]
    public async Task LatestPreview_AskedManyTimesAtOnce_ShowsTheNewestLastAndMakesNoQueue()
    {
        (SceneDocument start, LabPart part) = Knee();
        LabSetting mas = LabSetting.For(start, part).First(each => each.Key == "mas");
        SceneDocument small = start with { Receptor = start.Receptor with { SpacingMm = 2 } };
        var shown = new List<double>();
        var last = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        var allAsked = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        using var previews = new LatestPreview(
            async (scene, preview, _) =>
            {
                await allAsked.Task;
                shown.Add(preview is null ? double.NaN : scene.Tube.ExposureMas);
                if (scene.Tube.ExposureMas == 20)
                {
                    last.TrySetResult();
                }
            },
            Microsoft.Extensions.Logging.Abstractions.NullLogger.Instance);
        for (int asked = 1; asked <= 20; asked++)
        {
            previews.Ask(mas.Set(small, asked));
        }

        allAsked.SetResult();
        await last.Task;

        // The one that was being made when the others came, at most, and the newest.
        Assert.InRange(shown.Count, 1, 2);
        Assert.Equal(20, shown[^1]);
    }

    private static (SceneDocument Start, LabPart Part) Knee()
    {
        LabPart part = Lab.Parts.First(each => each.Name == "knee");
        return (LabScenes.StartOf(part, "ap", "R", "adult"), part);
    }
}
