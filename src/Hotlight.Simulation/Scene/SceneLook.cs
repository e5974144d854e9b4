using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Display;
using Hotlight.Simulation.Projection;

namespace Hotlight.Simulation.Scene;

/// <summary>A scene's picture for looking at while it is moved: the exposure's own physics on few pixels, without what only its truth needs.</summary>
/// <remarks>What differs from an exposure: docs/methods/pose-picture.md.</remarks>
internal static class SceneLook
{
    /// <param name="scene">A checked scene.</param>
    /// <param name="spacingMm">Distance of pixel centres, in mm.</param>
    /// <param name="noise">Whether quanta and the receptor's electronics make noise.</param>
    /// <param name="cancellation">Stops the work.</param>
    public static LabLook Take(SceneDocument scene, double spacingMm, bool noise, CancellationToken cancellation)
    {
        SceneSetup setup = new(scene with { Receptor = scene.Receptor with { SpacingMm = spacingMm } }, null, quick: true);
        SceneSignal made = SceneSimulator.Signal(setup, ProjectionDetail.Quick, null, cancellation, XRayBeam.Energies);
        Raster<float> signal = made.Beam.ReadOnly(made.Microgray, scene.Seed, noise);
        RenderedPixels rendered = Rendering.Presentation(setup, made.Beam, made.Paths.Skin, signal);
        Radiograph shown = new()
        {
            FileName = scene.Id,
            Source = ImageSource.Dicom,
            Pixels = rendered.Pixels,
            BitsStored = rendered.BitsStored,
            HighIsShownDark = false,
            PresentationIntent = PresentationIntent.ForPresentation,
            Windows = rendered.Window is null ? [] : [rendered.Window],
            LossyCompressed = false,
            Encoding = "none",
        };
        return new LabLook
        {
            Grey = DisplayTable.Render(shown).AsReadOnly(),
            SpacingMm = spacingMm,
            CentralRay = setup.CentralRay,
            SignalMicrogray = signal.AsReadOnly(),
            BoneMm = made.Paths.BoneVolume.AsReadOnly(),
            SkinMm = made.Paths.Skin.AsReadOnly(),
            InField = Field(setup, made.Beam.Leaves).AsReadOnly(),
            Landmarks = SceneTruthBuilder.Landmarks(setup, null),
        };
    }

    private static Raster<bool> Field(SceneSetup setup, Leaves leaves)
    {
        BeamGeometry geometry = setup.Geometry;
        Raster<bool> field = new(geometry.Rows, geometry.Columns);
        (int Left, int Top, int Right, int Bottom)? mask = SceneTruthBuilder.MaskPixels(setup);
        Parallel.For(0, field.Rows, row =>
        {
            Span<bool> line = field.Row(row);
            float y = geometry.ReceptorY(row);
            for (int column = 0; column < line.Length; column++)
            {
                line[column] = leaves.InsideMm(geometry.ReceptorX(column), y) >= 0
                    && (mask is not { } opening || (row >= opening.Top && row <= opening.Bottom && column >= opening.Left && column <= opening.Right));
            }
        });
        return field;
    }
}
