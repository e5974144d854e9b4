using Hotlight.Imaging.Dicom;

namespace Hotlight.Privacy;

/// <summary>The values of a file that tell who the patient is, for the search in what is left of it. Never written anywhere.</summary>
internal sealed class IdentifyingValues
{
    /// <summary>Shortest value that is searched for, in characters: shorter ones stand everywhere by chance.</summary>
    public const int Shortest = 3;

    private readonly HashSet<string> values = new(StringComparer.OrdinalIgnoreCase);
    private readonly HashSet<string> nameWords = new(StringComparer.OrdinalIgnoreCase);
    private readonly Retained retained;

    private IdentifyingValues(Retained retained) => this.retained = retained;

    /// <summary>The words of all persons' names, in lower case.</summary>
    public IReadOnlySet<string> NameWords => nameWords;

    /// <summary>All values, of <see cref="Shortest"/> characters and more.</summary>
    public IReadOnlyCollection<string> All => values;

    /// <summary>The identifying values of a data set with its nested items.</summary>
    /// <param name="dataset">The data set before anything was taken out.</param>
    /// <param name="retained">What is to stay: its values are not searched for.</param>
    public static IdentifyingValues Of(DicomDataset dataset, Retained retained = Retained.Nothing)
    {
        IdentifyingValues found = new(retained);
        found.Collect(dataset);
        return found;
    }

    /// <summary>Whether one of the values stands in texts, as whole words.</summary>
    /// <param name="texts">The texts.</param>
    public bool StandIn(IReadOnlyList<string> texts) => texts.Any(text => values.Any(value => Holds(text, value)));

    private static bool Holds(string text, string value)
    {
        for (int at = text.IndexOf(value, StringComparison.OrdinalIgnoreCase); at >= 0; at = text.IndexOf(value, at + 1, StringComparison.OrdinalIgnoreCase))
        {
            bool begins = at == 0 || !char.IsLetterOrDigit(text[at - 1]) || !char.IsLetterOrDigit(value[0]);
            int end = at + value.Length;
            if (begins && (end == text.Length || !char.IsLetterOrDigit(text[end]) || !char.IsLetterOrDigit(value[^1])))
            {
                return true;
            }
        }

        return false;
    }

    private void Collect(DicomDataset dataset)
    {
        foreach (DicomElement element in dataset.Elements)
        {
            if (element.Items is { } items)
            {
                foreach (DicomDataset item in items)
                {
                    Collect(item);
                }

                continue;
            }

            string vr = element.Vr == "UN" ? DicomDictionary.VrOf(element.Tag) ?? "UN" : element.Vr;
            if (vr == "PN")
            {
                foreach (string word in (dataset.Texts(element.Tag) ?? []).SelectMany(DescriptorWords.Words))
                {
                    nameWords.Add(word.ToLowerInvariant());
                    Add(word);
                }
            }
            else if (IsIdentifier(element.Tag.Number) && ConfidentialityProfile.Find(element.Tag, vr, retained) != PrivacyAction.Keep)
            {
                foreach (string value in dataset.Texts(element.Tag) ?? [])
                {
                    Add(value);
                }
            }
        }
    }

    private void Add(string value)
    {
        if (value.Length >= Shortest)
        {
            values.Add(value);
        }
    }

    // Identifiers, addresses, telephone numbers, dates of birth: what tells a person or an order from others.
    private static bool IsIdentifier(uint tag) => tag is 0x00080050 or 0x00080080 or 0x00080081 or 0x00080092 or 0x00080094 or 0x00081010
        or 0x00100020 or 0x00100021 or 0x00100030 or 0x00101000 or 0x00101040 or 0x00101050 or 0x00101090 or 0x00102154 or 0x00102155
        or 0x00181000 or 0x0018700A or 0x00200010 or 0x00321033 or 0x00380010 or 0x00380060 or 0x00401001 or 0x00402016 or 0x00402017;
}
