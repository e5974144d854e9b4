namespace Hotlight.Measure.Sharpness;

/// <summary>Tells edges that run on as a contour from the short ones of texture.</summary>
/// <remarks>
/// <para>Along a contour neighbouring places lie on one line or bend, and their normals turn with it. Spongy bone and noise have edges too, most of them soft and in every direction; where the contours of a part run in few directions they would stand for the others, and read as a blur along one line.</para>
/// <para>An edge's run is the number of different places, in steps of <see cref="StepMm"/> along its tangent and up to <see cref="ReachMm"/> to either side, at which another edge continues it.</para>
/// </remarks>
internal static class EdgeContours
{
    private const double ReachMm = 5;
    private const double StepMm = 1.5;

    // The sharpest bend of a contour that is followed: the condyle of a finger.
    private const double LeastRadiusMm = 6;

    // How far the places and normals of one contour scatter by noise and by the search's cells.
    private const double ScatterMm = 0.35;
    private const double ScatterDegrees = 12;

    // Nearer than this two places are one.
    private const double NearestMm = 0.7;

    /// <summary>The run of each edge.</summary>
    /// <param name="edges">Fitted edges.</param>
    /// <param name="scale">The image's scale.</param>
    internal static int[] Runs(IReadOnlyList<FittedEdge> edges, ImageScale scale)
    {
        var runs = new int[edges.Count];
        var cells = new Dictionary<(int, int), List<int>>();
        for (int i = 0; i < edges.Count; i++)
        {
            (int, int) cell = Cell(edges[i], scale);
            if (!cells.TryGetValue(cell, out List<int>? members))
            {
                members = [];
                cells.Add(cell, members);
            }

            members.Add(i);
        }

        for (int i = 0; i < edges.Count; i++)
        {
            FittedEdge edge = edges[i];
            (int column, int row) = Cell(edge, scale);
            (double normalY, double normalX) = Math.SinCos(edge.DirectionDegrees * Math.PI / 180);

            // One bit a step, from −ReachMm to ReachMm.
            int places = 0;
            for (int near = 0; near < 9; near++)
            {
                if (!cells.TryGetValue((column + (near % 3) - 1, row + (near / 3) - 1), out List<int>? members))
                {
                    continue;
                }

                foreach (int j in members)
                {
                    double x = (edges[j].X - edge.X) * scale.ColumnSpacingMm, y = (edges[j].Y - edge.Y) * scale.RowSpacingMm;
                    double along = (y * normalX) - (x * normalY), across = (x * normalX) + (y * normalY);
                    double far = Math.Abs(along);
                    if (far is > NearestMm and <= ReachMm
                        && Math.Abs(across) <= ScatterMm + (along * along / (2 * LeastRadiusMm))
                        && DirectionalBlur.Apart(edges[j].DirectionDegrees, edge.DirectionDegrees) <= ScatterDegrees + (far / LeastRadiusMm * 180 / Math.PI))
                    {
                        int step = (int)Math.Round(along / StepMm);
                        places |= step == 0 ? 0 : 1 << (step + 4);
                    }
                }
            }

            runs[i] = int.PopCount(places);
        }

        return runs;
    }

    private static (int Column, int Row) Cell(FittedEdge edge, ImageScale scale)
        => ((int)(edge.X * scale.ColumnSpacingMm / ReachMm), (int)(edge.Y * scale.RowSpacingMm / ReachMm));
}
