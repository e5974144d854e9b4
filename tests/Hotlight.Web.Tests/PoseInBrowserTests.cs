using System.Globalization;
using System.Text.RegularExpressions;
using Hotlight.Core;
using Hotlight.Poses;
using Hotlight.Simulation;
using Hotlight.Simulation.Scene;
using Hotlight.Testing;
using Hotlight.Workflows.Cases;
using Microsoft.Playwright;

namespace Hotlight.Web.Tests;

/// <summary>The position in space as a reader finds it, in the system's Chromium, on exposures of the lab whose pose is known.</summary>
public sealed partial class PoseInBrowserTests(BrowsedBench bench) : IClassFixture<BrowsedBench>
{
    private const double TurnDegrees = 9;

    [SystemFileFact(SystemChromium.Path)]
    public async Task Pose_PointsClickedWhereTheyLie_IsNearTheTruthAndTheRepeatComesRight()
    {
        (CaseRecord record, PoseModel model, IReadOnlyDictionary<string, PixelPoint> places) = await ExposeAsync("clicked");
        IPage page = await OpenAsync($"/cases/{record.Id}");
        List<string> complaints = SystemChromium.Complaints(page);
        await page.Locator(".to-pose a").ClickAsync();
        await page.WaitForSelectorAsync(".pose-image .viewer[data-state=shown]");
        await Assertions.Expect(page.Locator(".pose-label")).ToHaveTextAsync("Simulation with a generic anatomy: not this patient");
        await Assertions.Expect(page.Locator(".pose-waiting")).ToBeVisibleAsync();
        await SystemChromium.AssertAccessibleAsync(page);

        // One click a point; the next one is asked for by itself.
        await page.GetByRole(AriaRole.Button, new() { Name = "to the nearest edge" }).ClickAsync();
        for (int place = 0; place < model.Points.Count; place++)
        {
            await Assertions.Expect(page.Locator(".pose-points li.current .landmark")).ToContainTextAsync(model.Points[place].Name!);
            await ClickAsync(page, places[model.Points[place].Id]);
            await MarkedAsync(page, place + 1 == model.Points.Count ? null : place + 1);
        }

        // All are there: what was asked is answered. The truth: 9° of turn, no tilt.
        await Assertions.Expect(page.Locator("#tab-position")).ToHaveAttributeAsync("aria-selected", "true");
        (double turn, double deviation) = await AngleAsync(page, "Turn");
        Assert.InRange(turn, TurnDegrees - 3, TurnDegrees + 3);
        Assert.InRange(deviation, 0.5, 4.5);
        await page.WaitForFunctionAsync("() => Number(document.querySelector('[data-pose=phantom]').dataset.drawn ?? 0) > 0");
        await SystemChromium.AssertAccessibleAsync(page);

        // The slider draws the phantom anew, and on its way a missed relation comes right.
        await Assertions.Expect(page.Locator(".pose-relations .not-met").First).ToBeVisibleAsync();
        string relation = (await page.Locator(".pose-relations > div:has(.not-met)").First.GetAttributeAsync("data-relation"))!;
        string before = await PictureAsync(page);
        await page.Locator("[data-pose=way]").FillAsync("100");
        await Assertions.Expect(page.Locator($"[data-relation={relation}] .state")).ToHaveClassAsync(new Regex(@"\bmet\b"));
        await page.WaitForFunctionAsync("was => document.querySelector('[data-pose=phantom]').toDataURL() !== was", before);
        await Assertions.Expect(page.Locator("#pose-phantom-heading")).ToHaveTextAsync("The phantom as it should lie");

        // The exposure goes with it.
        await page.Locator("#tab-exposure").ClickAsync();
        string plain = await PictureAsync(page);
        await page.Locator("[data-setting=pose-field-width] input[type=range]").FillAsync("60");
        await Assertions.Expect(page.Locator(".lab-changes")).ToContainTextAsync("field width 60 mm", new() { IgnoreCase = true });
        await page.WaitForFunctionAsync("was => document.querySelector('[data-pose=phantom]').toDataURL() !== was", plain);
        await SystemChromium.AssertAccessibleAsync(page);

        // A step is taken back: the last mark goes, and the checklist's own landmarks are the same marks.
        OpenCase kept = await bench.Cases.OpenAsync(record.Id);
        Assert.Equal(model.Points.Count, kept.Answers!.Landmarks.Count + kept.Answers.Pose!.Points.Count);
        Assert.All(kept.Projection!.Landmarks.Where(landmark => model.Find(landmark.Id) is not null), landmark => Assert.Contains(landmark.Id, kept.Answers.Landmarks));
        await page.GetByRole(AriaRole.Button, new() { Name = "Undo" }).ClickAsync();
        await page.Locator("#tab-points").ClickAsync();
        await Assertions.Expect(page.Locator(".pose-points .small")).ToHaveCountAsync(model.Points.Count - 1);
        await page.GetByRole(AriaRole.Button, new() { Name = "Redo" }).ClickAsync();
        await Assertions.Expect(page.Locator(".pose-points .small")).ToHaveCountAsync(model.Points.Count);
        Assert.Empty(complaints);
    }

    private static async Task ClickAsync(IPage page, PixelPoint at)
    {
        double[] canvas = await page.EvaluateAsync<double[]>(
            "async at => { const { viewerOf } = await import('/viewer/viewer.js'); const host = document.querySelector('.pose-image .viewer'); const [x, y] = viewerOf(host).view.toCanvas(at); const stage = host.querySelector('[data-view=stage]').getBoundingClientRect(); return [stage.left + x, stage.top + y]; }",
            new[] { at.X, at.Y });
        await page.Mouse.ClickAsync((float)canvas[0], (float)canvas[1]);
    }

    private static Task MarkedAsync(IPage page, int? count)
        => count is { } some
            ? Assertions.Expect(page.Locator(".pose-points .small")).ToHaveCountAsync(some)
            : Assertions.Expect(page.Locator(".pose-angles")).ToBeVisibleAsync();

    private static async Task<(double Degrees, double Deviation)> AngleAsync(IPage page, string name)
    {
        string said = await page.Locator(".pose-angles > div").Filter(new() { Has = page.Locator("dt", new() { HasTextString = name }) }).Locator("dd").InnerTextAsync();
        Match match = Said().Match(said);
        Assert.True(match.Success, said);
        return (double.Parse(match.Groups[1].Value, CultureInfo.InvariantCulture), double.Parse(match.Groups[2].Value, CultureInfo.InvariantCulture));
    }

    private static Task<string> PictureAsync(IPage page) => page.EvaluateAsync<string>("() => document.querySelector('[data-pose=phantom]').toDataURL()");

    [GeneratedRegex(@"(-?\d+)° ± (\d+)°")]
    private static partial Regex Said();

    private async Task<IPage> OpenAsync(string path)
    {
        IPage page = await bench.OpenAsync(path);
        await page.WaitForSelectorAsync(".viewer[data-state=shown]");
        return page;
    }

    /// <summary>A lateral knee of the lab that is turned, as an invented case.</summary>
    private async Task<(CaseRecord Record, PoseModel Model, IReadOnlyDictionary<string, PixelPoint> Places)> ExposeAsync(string name)
    {
        PoseModel model = PoseModels.For("knee-lateral")!;
        SceneDocument start = SceneStarts.For(model.Part, model.View);
        SceneDocument scene = start with { Id = name, Part = start.Part! with { TurnDegrees = TurnDegrees }, Receptor = start.Receptor with { SpacingMm = 0.3 } };
        using var file = new MemoryStream(Lab.Expose(scene).ForPresentation(), writable: false);
        CaseRecord record = (await bench.Cases.BringInInventedAsync($"{name}.dcm", file, $"Knee, {name}", model.ProjectionId, CaseOrigin.Lab)).Record;
        return (record, model, model.Places(scene));
    }
}
