using System.Numerics;
using Hotlight.Simulation.Meshes;
using Hotlight.Simulation.Projection;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Tests.Meshes;

/// <summary>The length of a ray within a mesh by trying every triangle in double precision (Möller and Trumbore 1997): slow, and with nothing in common with the projector.</summary>
internal static class BruteForce
{
    /// <param name="mesh">A closed surface.</param>
    /// <param name="pose">Where it is.</param>
    /// <param name="geometry">Source and receptor.</param>
    /// <param name="row">Row of the pixel.</param>
    /// <param name="column">Column of the pixel.</param>
    /// <param name="margin">How near the ray comes to an edge, as the least barycentric coordinate of any triangle that it crosses or nearly crosses.</param>
    public static double LengthMm(TriangleMesh mesh, Pose pose, BeamGeometry geometry, int row, int column, out double margin)
    {
        double sx = geometry.Source.X;
        double sy = geometry.Source.Y;
        double sz = geometry.Source.Z;
        double dx = ((column - geometry.CentralRay.X) * geometry.SpacingMm) - sx;
        double dy = ((row - geometry.CentralRay.Y) * geometry.SpacingMm) - sy;
        double dz = -sz;
        double ray = Math.Sqrt((dx * dx) + (dy * dy) + (dz * dz));
        double sum = 0;
        margin = 1;
        for (int at = 0; at < mesh.Corners.Length; at += 3)
        {
            (double ax, double ay, double az) = Place(mesh.Vertices[mesh.Corners[at]]);
            (double bx, double by, double bz) = Place(mesh.Vertices[mesh.Corners[at + 1]]);
            (double cx, double cy, double cz) = Place(mesh.Vertices[mesh.Corners[at + 2]]);
            (double ux, double uy, double uz) = (bx - ax, by - ay, bz - az);
            (double vx, double vy, double vz) = (cx - ax, cy - ay, cz - az);
            (double px, double py, double pz) = ((dy * vz) - (dz * vy), (dz * vx) - (dx * vz), (dx * vy) - (dy * vx));
            double determinant = (ux * px) + (uy * py) + (uz * pz);
            if (determinant == 0)
            {
                continue;
            }

            (double tx, double ty, double tz) = (sx - ax, sy - ay, sz - az);
            double u = ((tx * px) + (ty * py) + (tz * pz)) / determinant;
            (double qx, double qy, double qz) = ((ty * uz) - (tz * uy), (tz * ux) - (tx * uz), (tx * uy) - (ty * ux));
            double v = ((dx * qx) + (dy * qy) + (dz * qz)) / determinant;
            double least = Math.Min(u, Math.Min(v, 1 - u - v));
            if (least > -1e-3)
            {
                margin = Math.Min(margin, Math.Abs(least));
            }

            if (least >= 0)
            {
                double t = ((vx * qx) + (vy * qy) + (vz * qz)) / determinant;
                sum += determinant > 0 ? -t : t;
            }
        }

        return sum * ray;

        (double X, double Y, double Z) Place(Vector3 v) => (
            pose.Origin.X + ((double)v.X * pose.X.X) + ((double)v.Y * pose.Y.X) + ((double)v.Z * pose.Z.X),
            pose.Origin.Y + ((double)v.X * pose.X.Y) + ((double)v.Y * pose.Y.Y) + ((double)v.Z * pose.Z.Y),
            pose.Origin.Z + ((double)v.X * pose.X.Z) + ((double)v.Y * pose.Y.Z) + ((double)v.Z * pose.Z.Z));
    }
}
