using System.Buffers.Binary;
using System.Buffers.Text;
using System.Numerics;
using System.Text;

namespace Hotlight.Simulation.Meshes;

/// <summary>Unit of a mesh file's numbers. No format says it, so whoever gives the file does.</summary>
internal enum MeshUnit
{
    Millimetre,
    Centimetre,
    Metre,
}

/// <summary>A mesh as it was read.</summary>
/// <param name="Mesh">In mm; points of one place joined, triangles without area dropped, outside out when closed.</param>
/// <param name="Format">Such as "STL, binary".</param>
/// <param name="TrianglesInFile">Before any was dropped; polygons counted in triangles.</param>
/// <param name="WasInsideOut">Whether the file's triangles run clockwise and were turned round.</param>
internal sealed record MeshFile(TriangleMesh Mesh, string Format, int TrianglesInFile, bool WasInsideOut);

/// <summary>Reads STL (text, binary), OBJ and PLY (text, binary of both byte orders).</summary>
/// <remarks>Colours, normals, texture and other properties are passed over. At most 256 MiB and 5 million triangles. Damage ends in an <see cref="UnreadableMeshException"/>, never in a part of the mesh.</remarks>
internal static class MeshReader
{
    public const int MostBytes = 256 << 20;
    public const int MostTriangles = 5_000_000;
    private const int MostCorners = 4096;

    /// <summary>Reads a file and refuses it unless it is closed.</summary>
    /// <param name="path">The file; its ending tells OBJ, its content the others.</param>
    /// <param name="unit">Unit of its numbers.</param>
    /// <exception cref="UnreadableMeshException">The file is damaged, too large, no mesh, or open.</exception>
    /// <exception cref="IOException">The file cannot be opened.</exception>
    public static MeshFile ReadClosed(string path, MeshUnit unit)
    {
        MeshFile file = Read(path, unit);
        int open = file.Mesh.OpenEdges;
        return open == 0 ? file : throw new UnreadableMeshException(
            Path.GetFileName(path),
            FormattableString.Invariant($"the surface is not closed: {open} edges of {file.Mesh.TriangleCount} triangles have no neighbour that runs the other way, so a length inside it means nothing; close its holes first."));
    }

    /// <summary>Reads a file, closed or not.</summary>
    /// <param name="path">The file; its ending tells OBJ, its content the others.</param>
    /// <param name="unit">Unit of its numbers.</param>
    /// <exception cref="UnreadableMeshException">The file is damaged, too large or no mesh.</exception>
    /// <exception cref="IOException">The file cannot be opened.</exception>
    public static MeshFile Read(string path, MeshUnit unit)
    {
        string name = Path.GetFileName(path);
        using FileStream stream = new(path, FileMode.Open, FileAccess.Read, FileShare.Read);
        if (stream.Length > MostBytes)
        {
            throw new UnreadableMeshException(name, FormattableString.Invariant($"it has {stream.Length} bytes; at most {MostBytes} are read."));
        }

        byte[] bytes = new byte[stream.Length];
        stream.ReadExactly(bytes);
        return Read(bytes, name, unit);
    }

    /// <summary>Reads a file's content, closed or not.</summary>
    /// <param name="bytes">All of the file.</param>
    /// <param name="fileName">Its name, for errors and for telling OBJ.</param>
    /// <param name="unit">Unit of its numbers.</param>
    /// <exception cref="UnreadableMeshException">The content is damaged, too large or no mesh.</exception>
    public static MeshFile Read(ReadOnlySpan<byte> bytes, string fileName, MeshUnit unit)
    {
        Soup soup = new(fileName, unit switch { MeshUnit.Metre => 1000, MeshUnit.Centimetre => 10, _ => 1 });
        string format;
        if (bytes.StartsWith("ply\n"u8) || bytes.StartsWith("ply\r"u8))
        {
            format = new PlyContent(bytes, soup).Read();
        }
        else if (fileName.EndsWith(".obj", StringComparison.OrdinalIgnoreCase))
        {
            ReadObj(bytes, soup);
            format = "OBJ";
        }
        else if (IsBinaryStl(bytes))
        {
            ReadBinaryStl(bytes, soup);
            format = "STL, binary";
        }
        else if (bytes.StartsWith("solid"u8))
        {
            ReadTextStl(bytes, soup);
            format = "STL, text";
        }
        else if (fileName.EndsWith(".stl", StringComparison.OrdinalIgnoreCase) && bytes.Length >= 84)
        {
            uint count = BinaryPrimitives.ReadUInt32LittleEndian(bytes[80..]);
            throw soup.Damage($"a binary STL of {count} triangles has {84 + (50L * count)} bytes; this one has {bytes.Length}.");
        }
        else
        {
            throw soup.Damage("it is none of STL, OBJ and PLY.");
        }

        return soup.ToFile(format);
    }

    private static bool IsBinaryStl(ReadOnlySpan<byte> bytes)
        => bytes.Length >= 84 && 84 + (50L * BinaryPrimitives.ReadUInt32LittleEndian(bytes[80..])) == bytes.Length;

    private static void ReadBinaryStl(ReadOnlySpan<byte> bytes, Soup soup)
    {
        uint count = BinaryPrimitives.ReadUInt32LittleEndian(bytes[80..]);
        for (uint triangle = 0; triangle < count; triangle++)
        {
            ReadOnlySpan<byte> place = bytes[(int)(96 + (50 * triangle))..];
            int first = soup.PointCount;
            for (int corner = 0; corner < 3; corner++)
            {
                soup.Point(
                    BinaryPrimitives.ReadSingleLittleEndian(place[(12 * corner)..]),
                    BinaryPrimitives.ReadSingleLittleEndian(place[((12 * corner) + 4)..]),
                    BinaryPrimitives.ReadSingleLittleEndian(place[((12 * corner) + 8)..]));
            }

            soup.Triangle(first, first + 1, first + 2);
        }
    }

    private static void ReadTextStl(ReadOnlySpan<byte> bytes, Soup soup)
    {
        Words words = new(bytes);
        int inLoop = -1;
        bool ended = false;
        bool inFacet = false;
        words.SkipLine();
        while (words.Next(out ReadOnlySpan<byte> word))
        {
            if (ended)
            {
                // Several solids may follow each other.
                if (!Is(word, "solid"))
                {
                    throw soup.Damage($"line {words.Line} follows the end of the solid.");
                }

                words.SkipLine();
                ended = false;
            }
            else if (Is(word, "facet") && !inFacet)
            {
                inFacet = true;
                words.SkipLine();
            }
            else if (Is(word, "outer") && inFacet && inLoop < 0)
            {
                inLoop = 0;
                words.SkipLine();
            }
            else if (Is(word, "vertex") && inLoop >= 0)
            {
                soup.Point(words.Number(soup), words.Number(soup), words.Number(soup));
                inLoop++;
            }
            else if (Is(word, "endloop") && inLoop == 3)
            {
                soup.Triangle(soup.PointCount - 3, soup.PointCount - 2, soup.PointCount - 1);
                inLoop = -1;
            }
            else if (Is(word, "endfacet") && inFacet && inLoop < 0)
            {
                inFacet = false;
            }
            else if (Is(word, "endsolid") && !inFacet)
            {
                ended = true;
                words.SkipLine();
            }
            else
            {
                throw soup.Damage($"line {words.Line} has '{Shown(word)}' where a text STL has something else.");
            }
        }

        if (!ended)
        {
            throw soup.Damage($"it ends in line {words.Line} without 'endsolid'.");
        }
    }

    private static void ReadObj(ReadOnlySpan<byte> bytes, Soup soup)
    {
        Words words = new(bytes);
        int[] polygon = new int[MostCorners];
        while (words.Next(out ReadOnlySpan<byte> word))
        {
            if (word.SequenceEqual("v"u8))
            {
                soup.Point(words.Number(soup), words.Number(soup), words.Number(soup));
            }
            else if (word.SequenceEqual("f"u8))
            {
                int line = words.Line;
                int count = 0;
                while (words.NextInLine(out ReadOnlySpan<byte> corner))
                {
                    int slash = corner.IndexOf((byte)'/');
                    ReadOnlySpan<byte> digits = slash < 0 ? corner : corner[..slash];
                    if (!Utf8Parser.TryParse(digits, out int index, out int used) || used != digits.Length || index == 0)
                    {
                        throw soup.Damage($"line {line} has the corner '{Shown(corner)}', which is no index.");
                    }

                    if (count == MostCorners)
                    {
                        throw soup.Damage($"line {line} has more than {MostCorners} corners.");
                    }

                    // Negative indices count back from the last point so far.
                    long at = index > 0 ? index - 1L : (long)soup.PointCount + index;
                    if (at < 0 || at >= soup.PointCount)
                    {
                        throw soup.Damage($"line {line} asks for point {index} of {soup.PointCount}.");
                    }

                    polygon[count++] = (int)at;
                }

                if (count < 3)
                {
                    throw soup.Damage($"line {line} has a face of {count} corners.");
                }

                soup.Polygon(polygon.AsSpan(0, count));
            }

            words.SkipLine();
        }
    }

    private static bool Is(ReadOnlySpan<byte> word, string expected)
    {
        if (word.Length != expected.Length)
        {
            return false;
        }

        for (int at = 0; at < word.Length; at++)
        {
            if ((word[at] | 0x20) != expected[at])
            {
                return false;
            }
        }

        return true;
    }

    /// <summary>A word of a file as an error may show it.</summary>
    private static string Shown(ReadOnlySpan<byte> word)
    {
        StringBuilder text = new();
        foreach (byte letter in word[..Math.Min(word.Length, 24)])
        {
            text.Append(letter is >= 0x20 and < 0x7F ? (char)letter : '?');
        }

        return text.ToString();
    }

    /// <summary>Points and triangles as they come.</summary>
    private sealed class Soup(string fileName, double toMm)
    {
        private readonly List<Vector3> points = [];
        private readonly List<int> corners = [];

        public int PointCount => points.Count;

        public UnreadableMeshException Damage(FormattableString reason) => new(fileName, FormattableString.Invariant(reason));

        public UnreadableMeshException Damage(string reason) => new(fileName, reason);

        public void Point(double x, double y, double z)
        {
            const double Farthest = 1e5;
            x *= toMm;
            y *= toMm;
            z *= toMm;
            if (!(Math.Abs(x) <= Farthest && Math.Abs(y) <= Farthest && Math.Abs(z) <= Farthest))
            {
                throw Damage($"its point {points.Count + 1} is at ({x}, {y}, {z}) mm; points must be finite and within 100 m.");
            }

            if (points.Count == 3 * MostTriangles)
            {
                throw Damage($"it has more than {3 * MostTriangles} points.");
            }

            points.Add(new Vector3((float)x, (float)y, (float)z));
        }

        public void Triangle(int a, int b, int c)
        {
            if (corners.Count == 3 * MostTriangles)
            {
                throw Damage($"it has more than {MostTriangles} triangles.");
            }

            corners.Add(a);
            corners.Add(b);
            corners.Add(c);
        }

        /// <summary>A polygon as a fan around its first corner.</summary>
        public void Polygon(ReadOnlySpan<int> polygon)
        {
            for (int corner = 2; corner < polygon.Length; corner++)
            {
                Triangle(polygon[0], polygon[corner - 1], polygon[corner]);
            }
        }

        public MeshFile ToFile(string format)
        {
            if (corners.Count == 0)
            {
                throw Damage("it holds no triangle.");
            }

            TriangleMesh mesh = new TriangleMesh([.. points], [.. corners]).Welded();
            if (mesh.IsEmpty)
            {
                throw Damage("none of its triangles has an area.");
            }

            bool insideOut = mesh.IsClosed && mesh.VolumeMm3 < 0;
            return new MeshFile(insideOut ? mesh.Flipped() : mesh, format, corners.Count / 3, insideOut);
        }
    }

    /// <summary>Words of a text, apart by white space, with the number of their line.</summary>
    private ref struct Words(ReadOnlySpan<byte> text)
    {
        private readonly ReadOnlySpan<byte> text = text;
        private int at = 0;

        public int Line { get; private set; } = 1;

        public bool Next(out ReadOnlySpan<byte> word) => Next(acrossLines: true, out word);

        public bool NextInLine(out ReadOnlySpan<byte> word) => Next(acrossLines: false, out word);

        public double Number(Soup soup)
        {
            if (!Next(acrossLines: false, out ReadOnlySpan<byte> word))
            {
                throw soup.Damage($"line {Line} ends where a number belongs.");
            }

            if (!word.IsEmpty && word[0] == '+')
            {
                word = word[1..];
            }

            return Utf8Parser.TryParse(word, out double number, out int used) && used == word.Length
                ? number
                : throw soup.Damage($"line {Line} has '{Shown(word)}' where a number belongs.");
        }

        public void SkipLine()
        {
            // A line that ends in a backslash goes on in the next one.
            while (at < text.Length && text[at] != '\n')
            {
                at++;
            }
        }

        private bool Next(bool acrossLines, out ReadOnlySpan<byte> word)
        {
            while (at < text.Length)
            {
                byte letter = text[at];
                if (letter == '\\' && IsLineEnd(at + 1))
                {
                    at = text[at + 1] == '\r' ? at + 2 : at + 1;
                    at = Math.Min(at + 1, text.Length);
                    Line++;
                }
                else if (letter == '\n')
                {
                    if (!acrossLines)
                    {
                        break;
                    }

                    Line++;
                    at++;
                }
                else if (letter is (byte)' ' or (byte)'\t' or (byte)'\r' or 0x0B or 0x0C)
                {
                    at++;
                }
                else
                {
                    int start = at;
                    while (at < text.Length && text[at] is not ((byte)' ' or (byte)'\t' or (byte)'\r' or (byte)'\n' or 0x0B or 0x0C) && !(text[at] == '\\' && IsLineEnd(at + 1)))
                    {
                        at++;
                    }

                    word = text[start..at];
                    return true;
                }
            }

            word = [];
            return false;
        }

        private readonly bool IsLineEnd(int place)
            => place < text.Length && (text[place] == '\n' || (text[place] == '\r' && place + 1 < text.Length && text[place + 1] == '\n'));
    }

    /// <summary>The Polygon File Format, as its header describes it.</summary>
    private ref struct PlyContent(ReadOnlySpan<byte> bytes, Soup soup)
    {
        private readonly ReadOnlySpan<byte> bytes = bytes;
        private readonly Soup soup = soup;
        private int at = 0;
        private int line = 0;
        private bool isText = false;
        private bool bigEndian = false;

        private enum Number
        {
            None,
            Int8,
            UInt8,
            Int16,
            UInt16,
            Int32,
            UInt32,
            Float32,
            Float64,
        }

        public string Read()
        {
            List<Element> elements = Header();
            int[] polygon = new int[MostCorners];
            double[] place = new double[3];
            Words words = new(bytes[at..]);
            foreach (Element element in elements)
            {
                bool isVertex = element.Name == "vertex";
                bool isFace = element.Name == "face";
                int x = element.Properties.FindIndex(property => property is { Name: "x", Count: Number.None });
                int y = element.Properties.FindIndex(property => property is { Name: "y", Count: Number.None });
                int z = element.Properties.FindIndex(property => property is { Name: "z", Count: Number.None });
                int indices = element.Properties.FindIndex(property => property.Name is "vertex_indices" or "vertex_index" && property.Count != Number.None);
                if ((isVertex && (x < 0 || y < 0 || z < 0)) || (isFace && indices < 0))
                {
                    throw soup.Damage($"its {element.Name} elements lack {(isVertex ? "x, y or z" : "a list of vertex_indices")}.");
                }

                for (long item = 0; item < element.Count; item++)
                {
                    int corners = 0;
                    for (int property = 0; property < element.Properties.Count; property++)
                    {
                        Property each = element.Properties[property];
                        if (each.Count == Number.None)
                        {
                            double value = Next(ref words, each.Type);
                            if (property == x)
                            {
                                place[0] = value;
                            }
                            else if (property == y)
                            {
                                place[1] = value;
                            }
                            else if (property == z)
                            {
                                place[2] = value;
                            }

                            continue;
                        }

                        double count = Next(ref words, each.Count);
                        if (!(count >= 0 && count <= MostCorners && count == Math.Floor(count)))
                        {
                            throw soup.Damage($"{element.Name} {item + 1} has a list of {count} numbers; 0 to {MostCorners} are read.");
                        }

                        for (int entry = 0; entry < (int)count; entry++)
                        {
                            double value = Next(ref words, each.Type);
                            if (isFace && property == indices)
                            {
                                if (!(value >= 0 && value < soup.PointCount && value == Math.Floor(value)))
                                {
                                    throw soup.Damage($"face {item + 1} asks for point {value} of {soup.PointCount}.");
                                }

                                polygon[corners++] = (int)value;
                            }
                        }
                    }

                    if (isVertex)
                    {
                        soup.Point(place[0], place[1], place[2]);
                    }
                    else if (isFace)
                    {
                        soup.Polygon(polygon.AsSpan(0, corners));
                    }
                }
            }

            return isText ? "PLY, text" : bigEndian ? "PLY, binary, big-endian" : "PLY, binary, little-endian";
        }

        private static Number TypeOf(string name) => name switch
        {
            "char" or "int8" => Number.Int8,
            "uchar" or "uint8" => Number.UInt8,
            "short" or "int16" => Number.Int16,
            "ushort" or "uint16" => Number.UInt16,
            "int" or "int32" => Number.Int32,
            "uint" or "uint32" => Number.UInt32,
            "float" or "float32" => Number.Float32,
            "double" or "float64" => Number.Float64,
            _ => Number.None,
        };

        private List<Element> Header()
        {
            List<Element> elements = [];
            bool formatSeen = false;
            while (true)
            {
                string[] words = HeaderLine().Split(' ', StringSplitOptions.RemoveEmptyEntries);
                switch (words)
                {
                    case ["ply"] or ["comment", ..] or ["obj_info", ..] or []:
                        break;
                    case ["format", string format, "1.0"] when format is "ascii" or "binary_little_endian" or "binary_big_endian":
                        isText = format == "ascii";
                        bigEndian = format == "binary_big_endian";
                        formatSeen = true;
                        break;
                    case ["element", string name, string count] when long.TryParse(count, System.Globalization.NumberStyles.None, System.Globalization.CultureInfo.InvariantCulture, out long items):
                        elements.Add(new Element(name, items, []));
                        break;
                    case ["property", "list", string count, string type, string name] when elements.Count > 0 && TypeOf(count) != Number.None && TypeOf(type) != Number.None:
                        elements[^1].Properties.Add(new Property(name, TypeOf(type), TypeOf(count)));
                        break;
                    case ["property", string type, string name] when elements.Count > 0 && TypeOf(type) != Number.None:
                        elements[^1].Properties.Add(new Property(name, TypeOf(type), Number.None));
                        break;
                    case ["end_header"]:
                        if (!formatSeen)
                        {
                            throw soup.Damage("its header names no format.");
                        }

                        // Every item takes a byte or more, so a count beyond what is left is damage and not a reason to wait.
                        foreach (Element element in elements)
                        {
                            if (element.Properties.Count == 0 || element.Count > bytes.Length - at)
                            {
                                throw soup.Damage($"its header promises {element.Count} {Shown(Encoding.Latin1.GetBytes(element.Name))} elements; {bytes.Length - at} bytes follow.");
                            }
                        }

                        return elements;
                    default:
                        throw soup.Damage($"line {line} of its header is not understood.");
                }
            }
        }

        private string HeaderLine()
        {
            int start = at;
            while (at < bytes.Length && at - start < 1000)
            {
                byte letter = bytes[at++];
                if (letter == '\n')
                {
                    line++;
                    return Encoding.Latin1.GetString(bytes[start..(at - 1)]).TrimEnd('\r');
                }
            }

            throw soup.Damage("its header has no end.");
        }

        private double Next(ref Words words, Number type)
        {
            if (isText)
            {
                if (!words.Next(out ReadOnlySpan<byte> word))
                {
                    throw soup.Damage("it ends before the elements that its header promises.");
                }

                return Utf8Parser.TryParse(word, out double number, out int used) && used == word.Length
                    ? number
                    : throw soup.Damage($"line {line + words.Line} has '{Shown(word)}' where a number belongs.");
            }

            int size = type switch { Number.Int8 or Number.UInt8 => 1, Number.Int16 or Number.UInt16 => 2, Number.Float64 => 8, _ => 4 };
            if (bytes.Length - at < size)
            {
                throw soup.Damage("it ends before the elements that its header promises.");
            }

            ReadOnlySpan<byte> place = bytes.Slice(at, size);
            at += size;
            return type switch
            {
                Number.Int8 => (sbyte)place[0],
                Number.UInt8 => place[0],
                Number.Int16 => bigEndian ? BinaryPrimitives.ReadInt16BigEndian(place) : BinaryPrimitives.ReadInt16LittleEndian(place),
                Number.UInt16 => bigEndian ? BinaryPrimitives.ReadUInt16BigEndian(place) : BinaryPrimitives.ReadUInt16LittleEndian(place),
                Number.Int32 => bigEndian ? BinaryPrimitives.ReadInt32BigEndian(place) : BinaryPrimitives.ReadInt32LittleEndian(place),
                Number.UInt32 => bigEndian ? BinaryPrimitives.ReadUInt32BigEndian(place) : BinaryPrimitives.ReadUInt32LittleEndian(place),
                Number.Float32 => bigEndian ? BinaryPrimitives.ReadSingleBigEndian(place) : BinaryPrimitives.ReadSingleLittleEndian(place),
                _ => bigEndian ? BinaryPrimitives.ReadDoubleBigEndian(place) : BinaryPrimitives.ReadDoubleLittleEndian(place),
            };
        }

        private readonly record struct Property(string Name, Number Type, Number Count);

        private sealed record Element(string Name, long Count, List<Property> Properties);
    }
}
