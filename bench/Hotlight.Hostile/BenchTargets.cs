using Hotlight.Simulation.Meshes;
using Microsoft.AspNetCore.WebUtilities;

namespace Hotlight.Hostile;

/// <summary>Targets that only the long form runs: meshes of the phantom lab, and the parts of a DICOMweb request.</summary>
internal static class BenchTargets
{
    /// <summary>Every target.</summary>
    public static IReadOnlyList<HostileTarget> All { get; } =
    [
        .. HostileTarget.All,
        new("mesh", Mesh, _ =>
        [
            "v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 2 3 4\nf 1 4 3\n"u8.ToArray(),
            "solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\nendsolid a\n"u8.ToArray(),
            "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\nelement face 1\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n"u8.ToArray(),
            [.. new byte[80], 1, 0, 0, 0, .. new byte[50]],
        ]),
        new("multipart", Multipart, _ => ["--b\r\nContent-Type: application/dicom\r\nContent-Length: 4\r\n\r\nDICM\r\n--b\r\nContent-Type: text/plain\r\n\r\nx\r\n--b--\r\n"u8.ToArray()]),
    ];

    private static void Mesh(byte[] bytes)
    {
        // The kind is told by the name.
        foreach (string name in new[] { "a.obj", "a.stl", "a.ply" })
        {
            try
            {
                _ = MeshReader.Read(bytes, name, MeshUnit.Millimetre);
            }
            catch (UnreadableMeshException error) when (error.Message.Length > 0)
            {
                // As promised.
            }
        }
    }

    // As the bench reads what is stored to it: part by part, each with a limit.
    private static void Multipart(byte[] bytes)
    {
        MultipartReader reader = new("b", new MemoryStream(bytes)) { BodyLengthLimit = 1 << 20 };
        try
        {
            while (reader.ReadNextSectionAsync().GetAwaiter().GetResult() is { } part)
            {
                using MemoryStream whole = new();
                part.Body.CopyTo(whole);
                HostileTarget.All[0].Run(whole.ToArray());
            }
        }
        catch (Exception error) when (error is InvalidDataException or IOException)
        {
            // The request is refused with a sentence.
        }
    }
}
