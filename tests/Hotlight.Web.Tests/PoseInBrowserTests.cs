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

    [SystemFileFact(SystemChromium.Path)]
    public async Task Pose_ByKeyboardAlone_IsMarkedAndFitted()
    {
        (CaseRecord record, PoseModel model, IReadOnlyDictionary<string, PixelPoint> places) = await ExposeAsync("by-keyboard");
        IPage page = await OpenAsync($"/cases/{record.Id}");
        await page.WaitForSelectorAsync("[data-keys=heard]", new() { State = WaitForSelectorState.Attached });
        await page.WaitForSelectorAsync(".to-pose");
        await page.Keyboard.PressAsync("b");
        await page.WaitForFunctionAsync("() => location.pathname.endsWith('/pose')");
        await page.WaitForSelectorAsync(".pose-image .viewer[data-state=shown]");
        await page.WaitForSelectorAsync("[data-view=stage][data-marking]");
        await TabUntilAsync(page, "document.activeElement.dataset.view === 'stage'");
        for (int place = 0; place < 7; place++)
        {
            await page.WaitForFunctionAsync("name => document.querySelector('.pose-points li.current .landmark')?.textContent.includes(name)", model.Points[place].Name!);
            await BringUnderCrossAsync(page, places[model.Points[place].Id]);
            await page.Keyboard.PressAsync("Enter");
            await MarkedAsync(page, place + 1);
        }

        await Assertions.Expect(page.Locator(".pose-line")).ToContainTextAsync(new Regex(@"Turn (?:[7-9]|1[01])° ± \d°"));
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Pose_MarkDragged_IsMovedAndItsLandmarkWithIt()
    {
        (CaseRecord record, PoseModel model, IReadOnlyDictionary<string, PixelPoint> places) = await ExposeAsync("dragged");
        OpenCase open = await bench.Cases.OpenAsync(record.Id);
        foreach (PosePoint point in model.Points)
        {
            open = await bench.Cases.MarkAsync(open, point.Id, places[point.Id], null);
        }

        IPage page = await bench.OpenAsync($"/cases/{record.Id}/pose");
        await page.WaitForSelectorAsync(".pose-image .viewer[data-state=shown]");
        await page.WaitForSelectorAsync(".pose-angles");
        await page.Locator("#tab-points").ClickAsync();
        await page.GetByRole(AriaRole.Button, new() { Name = "to the nearest edge" }).ClickAsync();
        double[] from = await CanvasAsync(page, places["patella-front"]);
        await page.Mouse.MoveAsync((float)from[0], (float)from[1]);
        await page.Mouse.DownAsync();
        await page.Mouse.MoveAsync((float)from[0] - 60, (float)from[1] + 50, new() { Steps = 6 });
        await page.Mouse.UpAsync();
        await Assertions.Expect(page.Locator(".pose-off.strange")).ToContainTextAsync("does not go with the others");
        PixelPoint moved = (await bench.Cases.OpenAsync(record.Id)).Answers!.Landmarks["patella-front"].Point;
        Assert.True(moved.X < places["patella-front"].X - 20 && moved.Y > places["patella-front"].Y + 20, $"{moved}");
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Pose_ProposedAcceptedAndMatched_IsToldWithTheImageOrSaysWhyNot()
    {
        SceneDocument start = SceneStarts.For("knee", "ap");
        SceneDocument scene = start with { Id = "proposed", Part = start.Part! with { TurnDegrees = 5 }, Receptor = start.Receptor with { SpacingMm = 0.4 } };
        using var file = new MemoryStream(Lab.Expose(scene).ForPresentation(), writable: false);
        CaseRecord record = (await bench.Cases.BringInInventedAsync("proposed.dcm", file, "Knee, proposed", "knee-ap", CaseOrigin.Lab)).Record;
        IPage page = await OpenAsync($"/cases/{record.Id}/pose");
        await page.GetByRole(AriaRole.Button, new() { Name = "Propose points" }).ClickAsync();
        await Assertions.Expect(page.Locator(".pose-proposal")).ToContainTextAsync("None counts yet", new() { Timeout = 60_000 });
        Assert.True((await bench.Cases.OpenAsync(record.Id)).Answers is not { Landmarks.Count: > 0 });
        await page.GetByRole(AriaRole.Button, new() { Name = "I looked: accept all" }).ClickAsync();
        await page.Locator("#tab-position").ClickAsync();
        await Assertions.Expect(page.Locator(".pose-angles")).ToBeVisibleAsync(new() { Timeout = 60_000 });
        await page.GetByRole(AriaRole.Button, new() { Name = "Match to the image" }).ClickAsync();
        ILocator said = page.Locator(".pose-refined");
        await Assertions.Expect(said).ToContainTextAsync(new Regex("The marks' pose stands|came nearer, from"), new() { Timeout = 120_000 });

        // Where it helped, either pose can be told; where not, nothing is offered.
        if ((await said.InnerTextAsync()).Contains("came nearer", StringComparison.Ordinal))
        {
            await Assertions.Expect(said).ToContainTextAsync("are those with the image");
            await page.GetByRole(AriaRole.Button, new() { Name = "Back to the marks alone" }).ClickAsync();
            await Assertions.Expect(said).ToContainTextAsync("are those of the marks alone");
        }
        else
        {
            await Assertions.Expect(said.Locator("button")).ToHaveCountAsync(0);
        }
    }

    [SystemFileFact(SystemChromium.Path)]
    public async Task Pose_ProjectionWithoutAModel_SaysSo()
    {
        CaseRecord record = await bench.KeepAsync("Hand", "hand-pa");
        IPage page = await bench.OpenAsync($"/cases/{record.Id}/pose");
        await Assertions.Expect(page.Locator("main")).ToContainTextAsync("there is no model of its points");
        await SystemChromium.AssertAccessibleAsync(page);
        IPage list = await OpenAsync($"/cases/{record.Id}");
        await Assertions.Expect(list.Locator(".checklist")).ToBeVisibleAsync();
        await Assertions.Expect(list.Locator(".to-pose")).ToHaveCountAsync(0);
    }

    private static async Task TabUntilAsync(IPage page, string isThere)
    {
        for (int press = 0; press < 150; press++)
        {
            await page.Keyboard.PressAsync("Tab");
            if (await page.EvaluateAsync<bool>($"() => Boolean(document.activeElement && ({isThere}))"))
            {
                return;
            }
        }

        Assert.Fail($"150 presses of Tab did not lead to: {isThere}");
    }

    /// <summary>Moves the image by arrow keys until a place lies under the cross in the middle.</summary>
    private static async Task BringUnderCrossAsync(IPage page, PixelPoint at)
    {
        for (int press = 0; press < 400; press++)
        {
            double[] off = await page.EvaluateAsync<double[]>(
                "async at => { const { viewerOf } = await import('/viewer/viewer.js'); const { view } = viewerOf(document.querySelector('.pose-image .viewer')); const [x, y] = view.toCanvas(at); return [x - view.width / 2, y - view.height / 2, view.step]; }",
                new[] { at.X, at.Y });
            double[] away = [off[0] * off[2], off[1] * off[2]];
            int axis = Math.Abs(away[0]) > Math.Abs(away[1]) ? 0 : 1;
            if (Math.Abs(away[axis]) <= 1)
            {
                return;
            }

            string key = axis == 0 ? away[0] > 0 ? "ArrowRight" : "ArrowLeft" : away[1] > 0 ? "ArrowDown" : "ArrowUp";
            await page.Keyboard.PressAsync(Math.Abs(off[axis]) > 80 ? key : $"Shift+{key}");
        }

        Assert.Fail("400 presses of arrow keys did not bring the place under the cross.");
    }

    private static async Task ClickAsync(IPage page, PixelPoint at)
    {
        double[] canvas = await CanvasAsync(page, at);
        await page.Mouse.ClickAsync((float)canvas[0], (float)canvas[1]);
    }

    private static Task<double[]> CanvasAsync(IPage page, PixelPoint at)
        => page.EvaluateAsync<double[]>(
            "async at => { const { viewerOf } = await import('/viewer/viewer.js'); const host = document.querySelector('.pose-image .viewer'); const [x, y] = viewerOf(host).view.toCanvas(at); const stage = host.querySelector('[data-view=stage]').getBoundingClientRect(); return [stage.left + x, stage.top + y]; }",
            new[] { at.X, at.Y });

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
