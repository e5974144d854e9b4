using Hotlight.Core;
using Hotlight.Imaging.Dicom;
using Hotlight.Privacy.Publishing;

namespace Hotlight.Privacy;

/// <summary>Searches files for the identifying values of originals, byte by byte, in all encodings and in what is packed inside.</summary>
/// <remarks>In pixel data, where every four letters stand by chance in one file of thirty, only values of eight characters and more are searched for; in all else, and in the first and last part of the pixel data, every value.</remarks>
public sealed class IdentitySearch
{
    private const int ShortestInPixels = 8;
    private const int PixelRimBytes = 1 << 14;
    private const uint PixelData = 0x7FE00010;
    private readonly KnownIdentity known;
    private readonly OutputSearch all;
    private readonly OutputSearch inPixels;

    /// <summary>Makes ready to search.</summary>
    /// <param name="known">The values.</param>
    public IdentitySearch(KnownIdentity known)
    {
        ArgumentNullException.ThrowIfNull(known);
        this.known = known;
        string[] own = [Deidentifier.OwnWords.ToLowerInvariant()];
        all = new OutputSearch(known, own);
        inPixels = new OutputSearch(known.Where(value => value.Folded.Length >= ShortestInPixels), own);
    }

    /// <summary>How many values are searched for.</summary>
    public int Values => all.Values;

    /// <summary>What stands in a file, each kind and place once; of a DICOM file with the attribute.</summary>
    /// <param name="content">The file's bytes; borrowed.</param>
    /// <param name="where">What the file is called in a sentence, such as "the file a.dcm".</param>
    public IReadOnlyList<PublicationFinding> Search(ReadOnlyMemory<byte> content, string where)
    {
        ArgumentNullException.ThrowIfNull(where);
        List<PublicationFinding> findings = [];
        if (known.Count == 0)
        {
            return findings;
        }

        if (!DicomContent.LooksLikeDicom(content.Span))
        {
            Add(findings, all, content, where);
            return findings;
        }

        DicomContent file;
        try
        {
            file = DicomContent.Read(content, where);
        }
        catch (UnreadableImageException)
        {
            Add(findings, all, content, where);
            return findings;
        }

        Attributes(findings, file.Dataset, where);
        DicomElement? pixels = file.Dataset.Find(PixelData);
        if (pixels is null)
        {
            Add(findings, all, content, where);
            return findings;
        }

        // The bytes before and behind the pixel data are searched as they stand.
        IEnumerable<ReadOnlyMemory<byte>> parts = pixels.Fragments ?? [pixels.Value];
        int first = content.Length, last = 0;
        foreach (ReadOnlyMemory<byte> part in parts.Where(part => part.Length > 0))
        {
            if (content.Span.Overlaps(part.Span, out int place))
            {
                first = Math.Min(first, place);
                last = Math.Max(last, place + part.Length);
            }
        }

        if (last - first <= 2 * PixelRimBytes)
        {
            Add(findings, all, content, where);
        }
        else
        {
            Add(findings, all, content[..(first + PixelRimBytes)], where);
            Add(findings, all, content[(last - PixelRimBytes)..], where);
            Add(findings, inPixels, content, where);
        }

        return findings;
    }

    /// <summary>What stands in the name of a file or its folders.</summary>
    /// <param name="name">The name, with folders if wished.</param>
    /// <param name="where">What the name is called in a sentence.</param>
    public IReadOnlyList<PublicationFinding> Names(string name, string where)
    {
        ArgumentNullException.ThrowIfNull(name);
        ArgumentNullException.ThrowIfNull(where);
        List<PublicationFinding> findings = [];
        PublicationGate.AddFileName(findings, known, new PublishedFileName(where, name));
        return findings;
    }

    private void Attributes(List<PublicationFinding> findings, DicomDataset dataset, string where)
    {
        foreach (DicomElement element in dataset.Elements)
        {
            if (element.Items is { } items)
            {
                foreach (DicomDataset item in items)
                {
                    Attributes(findings, item, where);
                }
            }
            else if (element.Value.Length is > 0 and < 1 << 20)
            {
                foreach (IdentityKind kind in all.Kinds(element.Value))
                {
                    Put(findings, new PublicationFinding(kind, where, $"{PublicationGate.Capital(PublicationGate.Words(kind))} stands in {where}, attribute {element.Tag}{(DicomDictionary.KeywordOf(element.Tag) is { } keyword ? $" ({keyword})" : string.Empty)}."));
                }
            }
        }
    }

    private static void Add(List<PublicationFinding> findings, OutputSearch search, ReadOnlyMemory<byte> content, string where)
    {
        foreach ((IdentityKind kind, string? inside) in search.Search(content))
        {
            // An attribute that was named already is the same find.
            if (inside is not null || !findings.Exists(finding => finding.Kind == kind))
            {
                Put(findings, new PublicationFinding(kind, where, $"{PublicationGate.Capital(PublicationGate.Words(kind))} stands in {where}{(inside is null ? string.Empty : $", inside {inside}")}."));
            }
        }
    }

    private static void Put(List<PublicationFinding> findings, PublicationFinding finding)
    {
        if (!findings.Contains(finding))
        {
            findings.Add(finding);
        }
    }
}

/// <summary>Gathers the identifying values of many files.</summary>
public sealed class KnownIdentityBuilder
{
    private readonly HashSet<KnownValue> values = [];

    /// <summary>Adds the values of one file.</summary>
    /// <param name="known">The values.</param>
    public void Add(KnownIdentity known)
    {
        ArgumentNullException.ThrowIfNull(known);
        values.UnionWith(known.Values);
    }

    /// <summary>All of them but those of some kinds.</summary>
    /// <param name="kinds">The kinds.</param>
    public KnownIdentity Without(IReadOnlySet<IdentityKind> kinds)
    {
        ArgumentNullException.ThrowIfNull(kinds);
        return KnownIdentity.Of(values.Where(value => !kinds.Contains(value.Kind)));
    }
}
