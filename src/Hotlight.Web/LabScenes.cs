using Hotlight.Simulation;
using Hotlight.Simulation.Scene;

namespace Hotlight.Web;

/// <summary>The scene of the phantom lab's page, the one it started from, and the way back and forth between the settings.</summary>
internal sealed class LabScenes
{
    /// <summary>Steps that can be taken back.</summary>
    private const int MostSteps = 500;

    private readonly List<Step> steps = [];
    private int place;
    private string? open;

    /// <summary>Starts with a part in a view.</summary>
    /// <param name="start">The scene to start from; it has a part.</param>
    public LabScenes(SceneDocument start) => steps.Add(new Step(start, start));

    /// <summary>Positioned and exposed as the projection demands.</summary>
    public SceneDocument Start => steps[place].Start;

    /// <summary>As it is set.</summary>
    public SceneDocument Scene => steps[place].Scene;

    /// <summary>Whether a step can be taken back.</summary>
    public bool CanUndo => place > 0;

    /// <summary>Whether a step taken back can be made again.</summary>
    public bool CanRedo => place < steps.Count - 1;

    /// <summary>The scene that a part in a view starts from.</summary>
    /// <param name="part">Name of the part.</param>
    /// <param name="view">Name of the view.</param>
    /// <param name="side">Side, R or L; a part in the middle of the body ignores it.</param>
    /// <param name="size">Size, adult or child.</param>
    public static SceneDocument StartOf(LabPart part, string view, string side, string size)
    {
        ArgumentNullException.ThrowIfNull(part);
        SceneDocument start = SceneStarts.For(part.Name, view);
        bool isLeft = part.IsPaired && side == "L";
        return start with
        {
            Part = start.Part! with { Side = isLeft ? "L" : "R", Size = size },

            // A left side is the mirror image of a right one, and so is where its letter lies.
            Marker = isLeft && start.Marker is { } marker ? marker with { Letter = "L", CentreMm = [-marker.CentreMm[0], marker.CentreMm[1]] } : start.Marker,
        };
    }

    /// <summary>Goes over to another start, or to a scene that was opened.</summary>
    /// <param name="start">The scene it started from.</param>
    /// <param name="scene">The scene; null: the start.</param>
    /// <exception cref="UnreadableSceneException">The scene cannot be exposed; everything stays as it was.</exception>
    public void Begin(SceneDocument start, SceneDocument? scene = null) => Add(new Step(start, Checked(scene ?? start)), key: null);

    /// <summary>Sets the scene.</summary>
    /// <param name="scene">The scene as it is to be.</param>
    /// <param name="key">What is being moved: until <see cref="Settle"/> all its changes are one step; null for a step of its own.</param>
    /// <exception cref="UnreadableSceneException">The scene cannot be exposed; everything stays as it was.</exception>
    public void Set(SceneDocument scene, string? key = null) => Add(new Step(Start, Checked(scene)), key);

    /// <summary>What was being moved is let go.</summary>
    public void Settle() => open = null;

    /// <summary>Takes a step back.</summary>
    public void Undo()
    {
        Settle();
        place = Math.Max(0, place - 1);
    }

    /// <summary>Makes a step again that was taken back.</summary>
    public void Redo()
    {
        Settle();
        place = Math.Min(steps.Count - 1, place + 1);
    }

    private static SceneDocument Checked(SceneDocument scene) => SceneJson.Read(SceneJson.Write(scene), scene.Id);

    private void Add(Step step, string? key)
    {
        steps.RemoveRange(place + 1, steps.Count - place - 1);
        if (key is not null && key == open)
        {
            steps[place] = step;
            return;
        }

        open = key;
        steps.Add(step);
        if (steps.Count > MostSteps)
        {
            steps.RemoveAt(0);
        }

        place = steps.Count - 1;
    }

    private sealed record Step(SceneDocument Start, SceneDocument Scene);
}
