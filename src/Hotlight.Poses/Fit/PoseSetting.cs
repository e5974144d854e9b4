using Hotlight.Catalogue;
using Hotlight.Core;
using Hotlight.Positioning;

namespace Hotlight.Poses;

/// <summary>What is known of an exposure before a pose is fitted, and how surely.</summary>
internal sealed record PoseSetting
{
    /// <summary>One standard deviation of turn and tilt from what the view demands, in degrees: a rule of this project, wide so that the marks decide.</summary>
    public const double TurnSpreadDegrees = 20;

    /// <summary>One standard deviation of the lean, in degrees: next to nothing is known, since images are turned for display.</summary>
    public const double LeanSpreadDegrees = 120;

    /// <summary>One standard deviation of the part's place over the receptor, in mm.</summary>
    public const double ShiftSpreadMm = 200;

    /// <summary>One standard deviation of a spacing that is not known, as a share.</summary>
    public const double SpacingSpreadShare = 0.5;

    // A distance that the chart gives and nobody measured (docs/methods/positioning.md), and one that the header records; rules of this project.
    private const double ChartDistanceShare = 0.05;
    private const double RecordedDistanceShare = 0.01;

    // Where nothing says where the central ray is, the middle of the image stands for it; images are cut. A rule of this project.
    private const double UnknownCentralRayMm = 25;

    // Side of a usual image, for a first guess of the spacing; the marks set it right.
    private const double UsualSideMm = 250;

    public required PoseModel Model { get; init; }

    public required bool IsChild { get; init; }

    public required int Columns { get; init; }

    public required int Rows { get; init; }

    public required PixelPoint CentralRay { get; init; }

    public required double CentralRaySpreadMm { get; init; }

    public required double SpacingMm { get; init; }

    public required bool SpacingIsKnown { get; init; }

    public required double HeightMm { get; init; }

    public required double HeightSpreadMm { get; init; }

    public required double SourceHeightMm { get; init; }

    public required double SourceHeightSpreadShare { get; init; }

    /// <summary>Where the plumb line from the source meets the receptor, to the right of the central ray: not 0 where the tube is angled.</summary>
    public double SourceRightMm { get; init; }

    public double SourceDownMm { get; init; }

    /// <summary>Length of the central ray over the source's height.</summary>
    public required double SourceOblique { get; init; }

    /// <summary>Angle of the tube as the lab's scenes have it, in degrees.</summary>
    public required IReadOnlyList<double> TubeAngleDegrees { get; init; }

    public static PoseSetting Of(PoseModel model, Projection projection, ExposureGeometry geometry, PoseOptions options)
    {
        bool isRecorded = geometry.SourceImageDistanceMm is > 0;
        double distance = isRecorded ? geometry.SourceImageDistanceMm!.Value : projection.SourceImageDistanceMm.Value;
        SourcedRange range = projection.ObjectReceptorDistanceMm;

        // Sent towards the top, the tube stands below: the lab's rule.
        double right = -Math.Tan(options.TubeTowardRightDegrees * Math.PI / 180), down = Math.Tan(options.TubeTowardTopDegrees * Math.PI / 180);
        double height = distance / Math.Sqrt((right * right) + (down * down) + 1);
        return new PoseSetting
        {
            Model = model,
            IsChild = geometry.IsChild,
            Columns = geometry.Columns,
            Rows = geometry.Rows,
            CentralRay = geometry.CentralRay ?? new PixelPoint(X: (geometry.Columns - 1) / 2.0, Y: (geometry.Rows - 1) / 2.0),
            CentralRaySpreadMm = geometry.CentralRay is null ? Math.Max(UnknownCentralRayMm, geometry.CentralRayUncertaintyMm) : Math.Max(0.5, geometry.CentralRayUncertaintyMm),
            SpacingMm = geometry.Spacing?.ColumnSpacingMm ?? UsualSideMm / Math.Max(geometry.Columns, geometry.Rows),
            SpacingIsKnown = geometry.Spacing is not null,
            HeightMm = Math.Min((range.From + range.To) / 2, 0.5 * height),
            HeightSpreadMm = Math.Max(10, (range.To - range.From) / 2),
            SourceHeightMm = height,
            SourceHeightSpreadShare = isRecorded ? RecordedDistanceShare : ChartDistanceShare,
            SourceOblique = distance / height,
            SourceRightMm = right * height,
            SourceDownMm = down * height,
            TubeAngleDegrees = [options.TubeTowardTopDegrees, options.TubeTowardRightDegrees],
        };
    }
}
