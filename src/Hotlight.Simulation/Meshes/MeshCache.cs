using System.Runtime.CompilerServices;
using Hotlight.Simulation.Shapes;

namespace Hotlight.Simulation.Meshes;

/// <summary>Keeps the meshes made of shapes, so that moving a part makes none anew. The least recently used go first when they are too many.</summary>
/// <remarks>A shape is known by its instance, not by its content: shapes do not change once made.</remarks>
internal sealed class MeshCache
{
    private readonly Lock gate = new();
    private readonly Dictionary<Key, LinkedListNode<Entry>> known = [];
    private readonly LinkedList<Entry> byUse = [];
    private readonly long mostTriangles;
    private long triangles;

    /// <param name="mostTriangles">Triangles kept in all; about 18 bytes each.</param>
    public MeshCache(long mostTriangles) => this.mostTriangles = mostTriangles;

    /// <summary>The one that all projections share: 8 million triangles, about 150 MB when full.</summary>
    public static MeshCache Common { get; } = new(8_000_000);

    /// <summary>Triangles kept at present.</summary>
    public long Triangles
    {
        get
        {
            lock (gate)
            {
                return triangles;
            }
        }
    }

    /// <summary>The mesh of a shape, made at the first request.</summary>
    /// <param name="shape">What it is made of.</param>
    /// <param name="variant">Tells apart the meshes of one shape: cell, cortex, roughness.</param>
    /// <param name="make">Makes it; called by one thread only, and others that ask for the same wait for it.</param>
    public TriangleMesh Get(object shape, ulong variant, Func<TriangleMesh> make)
    {
        Key key = new(shape, variant);
        Entry entry;
        lock (gate)
        {
            if (known.TryGetValue(key, out LinkedListNode<Entry>? node))
            {
                byUse.Remove(node);
                byUse.AddFirst(node);
                entry = node.Value;
            }
            else
            {
                entry = new Entry(key, new Lazy<TriangleMesh>(make));
                known.Add(key, byUse.AddFirst(entry));
            }
        }

        TriangleMesh mesh;
        try
        {
            mesh = entry.Mesh.Value;
        }
        catch
        {
            lock (gate)
            {
                Forget(entry);
            }

            throw;
        }

        lock (gate)
        {
            if (!entry.Counted && known.ContainsKey(key))
            {
                entry.Counted = true;
                triangles += mesh.TriangleCount;
            }

            while (triangles > mostTriangles && byUse.Last is not null && byUse.Count > 1)
            {
                Forget(byUse.Last.Value);
            }
        }

        return mesh;
    }

    private void Forget(Entry entry)
    {
        if (known.Remove(entry.Key, out LinkedListNode<Entry>? node))
        {
            byUse.Remove(node);
            triangles -= entry.Counted ? entry.Mesh.Value.TriangleCount : 0;
        }
    }

    private readonly record struct Key(object Shape, ulong Variant)
    {
        public bool Equals(Key other) => ReferenceEquals(Shape, other.Shape) && Variant == other.Variant;

        public override int GetHashCode() => HashCode.Combine(RuntimeHelpers.GetHashCode(Shape), Variant);
    }

    private sealed class Entry(Key key, Lazy<TriangleMesh> mesh)
    {
        public Key Key => key;

        public Lazy<TriangleMesh> Mesh => mesh;

        public bool Counted { get; set; }
    }
}
