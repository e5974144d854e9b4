using Hotlight.Core;
using Hotlight.Imaging;

namespace Hotlight.Poses.Proposal;

/// <summary>Proposes where the points of a pose lie on a radiograph. A proposal is for a reader to look at, never a mark.</summary>
/// <remarks>
/// <para>Method: a small network (training/landmarks), taught on the phantom lab's exposures and, for the chest, on some radiographs; its map of odds for each point gives place, spread and whether it is there. docs/methods/landmark-proposal.md, with what it missed.</para>
/// <para>Holds when: the radiograph is of the projection that is named, and shown with bone bright. Of another part it proposes places that mean nothing.</para>
/// </remarks>
public static class LandmarkProposer
{
    /// <summary>A point that is not in the picture with at least this probability is not proposed.</summary>
    private const double LeastThere = 0.5;

    /// <summary>Share of the odds within the window around the best place below which the point could be elsewhere.</summary>
    private const double LeastInOnePlace = 0.4;

    /// <summary>Half the side of that window, in cells.</summary>
    private const int Window = 5;

    /// <summary>The spread of the target that the network was taught, in cells: it adds to what it answers.</summary>
    private const double TaughtSpread = 1;

    /// <summary>Deviation on the lab's exposures over the answer's spread less the taught one; by bins of 4,900 to 7,500 points of bodies kept apart.</summary>
    private const double SpreadShare = 0.85;

    /// <summary>Which part the network takes a projection for, and what real bones add to the deviation, in cells of 1/96 of the long side (docs/methods/landmark-proposal.md).</summary>
    private static readonly Dictionary<string, (string Examination, double RealCells)> Known = new(StringComparer.Ordinal)
    {
        ["chest-pa"] = ("chest", 1.4),
        ["elbow-lateral"] = ("elbow", 1.9),
        ["ankle-ap"] = ("ankle", 1.9),
        ["ankle-mortise"] = ("ankle", 1.9),
        ["knee-ap"] = ("knee", 1.9),
    };

    /// <summary>The projections that points are proposed for.</summary>
    public static IReadOnlyList<string> Projections { get; } = [.. Known.Keys.Order(StringComparer.Ordinal)];

    /// <summary>Proposes the points of a projection.</summary>
    /// <param name="radiograph">The radiograph; borrowed. Either side, any size; turned by up to about 20°, an elbow by any angle.</param>
    /// <param name="projectionId">The projection, one of <see cref="Projections"/>.</param>
    /// <returns>Each point found or not; cannot-tell for another projection, or for a picture of one value.</returns>
    public static Figure<LandmarkProposal> Propose(Radiograph radiograph, string projectionId)
    {
        ArgumentNullException.ThrowIfNull(radiograph);
        ArgumentException.ThrowIfNullOrEmpty(projectionId);
        if (!Known.TryGetValue(projectionId, out (string Examination, double RealCells) known) || PoseModels.For(projectionId) is not { } model)
        {
            return Figure<LandmarkProposal>.CannotTell(Texts.Get("proposal.why.projection", projectionId, string.Join(", ", Projections)));
        }

        if (ProposalPicture.Of(radiograph) is not { } picture)
        {
            return Figure<LandmarkProposal>.CannotTell(Texts.Get("proposal.why.blank"));
        }

        ProposalNetwork network = ProposalNetwork.Shared;
        (float[] maps, float[] absent) = network.Ask(picture.Samples);
        const int Size = ProposalNetwork.Cells * ProposalNetwork.Cells;
        List<ProposedLandmark> points = [];
        foreach (PosePoint point in model.Points)
        {
            Figure<ProposedPlace> place = network.Channels.TryGetValue($"{known.Examination}/{point.Id}", out int channel)
                ? Place(maps.AsSpan(channel * Size, Size), absent[channel], picture, radiograph, known.RealCells)
                : Figure<ProposedPlace>.CannotTell(Texts.Get("proposal.why.unknown"));
            points.Add(new ProposedLandmark(point.Id, point.Name ?? point.Id, place));
        }

        return Figure<LandmarkProposal>.Measured(new LandmarkProposal(projectionId, points));
    }

    private static Figure<ProposedPlace> Place(ReadOnlySpan<float> map, float absent, ProposalPicture picture, Radiograph radiograph, double realCells)
    {
        const int Cells = ProposalNetwork.Cells;

        // Probabilities of all places and of none.
        float highest = absent;
        foreach (float odds in map)
        {
            highest = MathF.Max(highest, odds);
        }

        double[] chances = new double[map.Length];
        double there = 0;
        for (int at = 0; at < map.Length; at++)
        {
            chances[at] = Math.Exp(map[at] - highest);
            there += chances[at];
        }

        double probability = there / (there + Math.Exp(absent - highest));
        if (!(probability > LeastThere))
        {
            return Figure<ProposedPlace>.CannotTell(Texts.Get("proposal.why.absent"));
        }

        (int row, int column) = Best(chances);
        double mass = 0;
        double x = 0;
        double y = 0;
        for (int r = Math.Max(0, row - Window); r <= Math.Min(Cells - 1, row + Window); r++)
        {
            for (int c = Math.Max(0, column - Window); c <= Math.Min(Cells - 1, column + Window); c++)
            {
                double chance = chances[(r * Cells) + c];
                mass += chance;
                x += chance * c;
                y += chance * r;
            }
        }

        x /= mass;
        y /= mass;
        if (mass / there < LeastInOnePlace)
        {
            return Figure<ProposedPlace>.CannotTell(Texts.Get("proposal.why.several"));
        }

        double squares = 0;
        for (int r = 0; r < Cells; r++)
        {
            for (int c = 0; c < Cells; c++)
            {
                squares += chances[(r * Cells) + c] * (((r - y) * (r - y)) + ((c - x) * (c - x)));
            }
        }

        const double SamplesACell = (double)ProposalNetwork.Side / Cells;
        PixelPoint place = picture.ToRadiograph(((x + 0.5) * SamplesACell) - 0.5, ((y + 0.5) * SamplesACell) - 0.5);
        if (place.X < -0.5 || place.Y < -0.5 || place.X > radiograph.Columns - 0.5 || place.Y > radiograph.Rows - 0.5)
        {
            return Figure<ProposedPlace>.CannotTell(Texts.Get("proposal.why.absent"));
        }

        double own = Math.Max(0, (squares / there / 2) - (TaughtSpread * TaughtSpread)) * SpreadShare * SpreadShare;
        double cells = Math.Sqrt(own + (realCells * realCells));
        return Figure<ProposedPlace>.Measured(new ProposedPlace(place, cells * SamplesACell * picture.PixelsASample, probability * mass / there));
    }

    /// <summary>The middle of the 5 × 5 cells with the greatest sum.</summary>
    private static (int Row, int Column) Best(double[] chances)
    {
        const int Cells = ProposalNetwork.Cells;
        double most = -1;
        (int Row, int Column) best = (0, 0);
        for (int row = 0; row < Cells; row++)
        {
            for (int column = 0; column < Cells; column++)
            {
                double sum = 0;
                for (int r = Math.Max(0, row - 2); r <= Math.Min(Cells - 1, row + 2); r++)
                {
                    for (int c = Math.Max(0, column - 2); c <= Math.Min(Cells - 1, column + 2); c++)
                    {
                        sum += chances[(r * Cells) + c];
                    }
                }

                if (sum > most)
                {
                    most = sum;
                    best = (row, column);
                }
            }
        }

        return best;
    }
}
