using System.Globalization;
using System.Text.RegularExpressions;
using Hotlight.Core;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Privacy.Publishing;

/// <summary>What the gate says of something that is to be published.</summary>
/// <param name="Findings">Each place where something identifying stands; empty: clean.</param>
public sealed record PublicationCheck(IReadOnlyList<PublicationFinding> Findings)
{
    /// <summary>Whether nothing was found.</summary>
    public bool IsClean => Findings.Count == 0;

    /// <summary>Stops where anything was found.</summary>
    /// <exception cref="PublicationStoppedException">Something was found.</exception>
    public void Demand()
    {
        if (!IsClean)
        {
            throw new PublicationStoppedException(Findings);
        }
    }
}

/// <summary>The one door through which anything of a case leaves the bench: says whether it is clean, or each place where something identifying stands.</summary>
/// <remarks>
/// <para>Two looks. <see cref="Check"/> before anything is made: texts, file names, pictures, DICOM files. <see cref="CheckOutputs"/> after: the bytes of every file as it would be published are searched for every known value, also in what is packed inside.</para>
/// <para>It finds what is known, and what is written like a number of a patient, an examination or a whole date. It does not find a person told by a rare finding, nor a name that is not known. See docs/methods/privacy.md.</para>
/// </remarks>
public static partial class PublicationGate
{
    /// <summary>Looks over what is to be published.</summary>
    /// <param name="known">The identifying values of the case.</param>
    /// <param name="pieces">Everything that is to be published.</param>
    public static PublicationCheck Check(KnownIdentity known, IEnumerable<PublicationPiece> pieces)
    {
        ArgumentNullException.ThrowIfNull(known);
        ArgumentNullException.ThrowIfNull(pieces);
        PublicationPiece[] all = [.. pieces];
        List<PublicationFinding> findings = [];
        foreach (PublicationPiece piece in all)
        {
            switch (piece)
            {
                case PublishedText text:
                    AddText(findings, known, text);
                    break;
                case PublishedFileName name:
                    AddFileName(findings, known, name);
                    break;
                case PublishedPicture picture:
                    AddPicture(findings, picture);
                    break;
                case PublishedDicom file:
                    AddDicom(findings, known, file);
                    break;
                default:
                    throw new ArgumentException($"A piece of the kind {piece.GetType().Name} cannot be looked over.", nameof(pieces));
            }
        }

        return new PublicationCheck(findings);
    }

    /// <summary>The last look: searches the bytes of the files that are to leave for every known value.</summary>
    /// <param name="known">The identifying values of the case.</param>
    /// <param name="outputs">Name and bytes of each file.</param>
    /// <param name="written">The texts that the bench wrote itself: an ordinary word among them that is also a name is searched for only beside another word of the name.</param>
    public static PublicationCheck CheckOutputs(KnownIdentity known, IEnumerable<(string Name, ReadOnlyMemory<byte> Content)> outputs, IEnumerable<string>? written = null)
    {
        ArgumentNullException.ThrowIfNull(known);
        ArgumentNullException.ThrowIfNull(outputs);
        OutputSearch search = new(known, written ?? []);
        List<PublicationFinding> findings = [];
        foreach ((string name, ReadOnlyMemory<byte> content) in outputs)
        {
            // Where it is called by a value, the name itself is not said again.
            List<PublicationFinding> byName = [];
            AddFileName(byName, known, new PublishedFileName("the name of a file", name));
            findings.AddRange(byName);
            string where = byName.Count > 0 ? "a file" : $"the file {name}";
            findings.AddRange(search.Search(content).Select(found => new PublicationFinding(
                found.Kind, where, $"{Capital(Words(found.Kind))} stands in {where}{(found.Inside is null ? string.Empty : $", inside {found.Inside}")}.")));
        }

        return new PublicationCheck(findings);
    }

    /// <summary>A kind in words, with its article, for the middle of a sentence.</summary>
    /// <param name="kind">The kind.</param>
    public static string Words(IdentityKind kind) => kind switch
    {
        IdentityKind.PatientName => "a name of the patient",
        IdentityKind.PatientIdentifier => "a number of the patient",
        IdentityKind.BirthDate => "the date of birth",
        IdentityKind.Address => "an address or a telephone number",
        IdentityKind.ExaminationNumber => "a number of the examination",
        IdentityKind.ExaminationDate => "a date of the examination",
        IdentityKind.Staff => "a name of somebody who made or asked for the examination",
        IdentityKind.Institution => "the name of the institution",
        IdentityKind.Device => "the name of a device",
        IdentityKind.Uid => "a UID of the examination",
        IdentityKind.CaseLabel => "what the patient or the file is called here",
        IdentityKind.ClinicPerson => "what somebody of the clinic is called",
        IdentityKind.LooksLikeNumber => "something written like a patient's or an examination's number",
        IdentityKind.LooksLikeDate => "a whole date",
        IdentityKind.DrawnText => "text in the pixels",
        IdentityKind.OtherValue => "another value of the original",
        _ => "a part that may hold identity",
    };

    internal static string Capital(string text) => char.ToUpperInvariant(text[0]) + text[1..];

    private static void AddText(List<PublicationFinding> findings, KnownIdentity known, PublishedText piece)
    {
        FoldedText folded = new(piece.Text);
        List<(int Start, int Length)> taken = [];
        void Add(IdentityKind kind, int start, int length)
        {
            if (taken.Exists(place => start < place.Start + place.Length && place.Start < start + length))
            {
                return;
            }

            taken.Add((start, length));
            findings.Add(new PublicationFinding(kind, piece.Where, $"{Capital(Words(kind))} stands in {piece.Where}.") { Start = start, Length = length });
        }

        // Longer values first, so that one place is named once and by what it is.
        (KnownValue Value, int Start, int Length)[] hits = [.. known.Values.OrderByDescending(value => value.Folded.Length)
            .SelectMany(value => folded.PlacesOf(value.Folded).Select(place => (value, place.Start, place.Length)))];
        foreach ((KnownValue value, int start, int length) in hits)
        {
            if (!value.IsName || CountsAsName(piece, value, start, length, hits))
            {
                Add(value.Kind, start, length);
            }
        }

        if (!piece.IsTyped)
        {
            return;
        }

        foreach (Match match in WrittenDates.Whole().Matches(piece.Text))
        {
            Add(IdentityKind.LooksLikeDate, match.Index, match.Length);
        }

        foreach (Match match in Number().Matches(piece.Text))
        {
            Add(IdentityKind.LooksLikeNumber, match.Index, match.Length);
        }
    }

    /// <summary>Whether a word of a name stands as a name: typed, always but for a technical term in small letters; written by the bench, where it has a capital inside a sentence or stands beside another word of a name.</summary>
    private static bool CountsAsName(PublishedText piece, KnownValue value, int start, int length, (KnownValue Value, int Start, int Length)[] hits)
    {
        bool beside = hits.Any(other => other.Value.IsName && other.Value.Folded != value.Folded
            && (Between(piece.Text, start + length, other.Start) || Between(piece.Text, other.Start + other.Length, start)));
        if (beside)
        {
            return true;
        }

        bool capital = char.IsUpper(piece.Text[start]);
        bool inside = capital && !BeginsSentence(piece.Text, start);
        if (value.Folded.Length <= 2)
        {
            // "An", "Li": too short to be told from a word but by its capital; abbreviations of the trade in capitals stay.
            return piece.IsTyped && inside && !value.IsTerm;
        }

        return piece.IsTyped ? !value.IsTerm || inside : inside && !value.IsTerm;
    }

    // One or two separators, no other word.
    private static bool Between(string text, int end, int start)
        => start > end && start - end <= 2 && text.AsSpan(end, start - end).IndexOfAnyExcept(" ,^.-_") < 0;

    private static bool BeginsSentence(string text, int start)
    {
        int before = start - 1;
        while (before >= 0 && (char.IsWhiteSpace(text[before]) || text[before] is '(' or '"' or '\'' or '„' or '“' or '¿' or '¡' or '•' or '-'))
        {
            before--;
        }

        return before < 0 || text[before] is '.' or '!' or '?' or ':' or ';';
    }

    internal static void AddFileName(List<PublicationFinding> findings, KnownIdentity known, PublishedFileName piece)
    {
        // Names of files run words together: a part of a longer word counts too, from four letters.
        string folded = new FoldedText(piece.Name).Folded;
        string plain = folded.Replace(" ", string.Empty, StringComparison.Ordinal);
        foreach (IdentityKind kind in known.Values.Where(value => !value.IsTerm && StandsIn(value)).Select(value => value.Kind).Distinct())
        {
            findings.Add(new PublicationFinding(kind, piece.Where, $"{Capital(Words(kind))} stands in {piece.Where}."));
        }

        bool StandsIn(KnownValue value)
        {
            string compact = value.Folded.Replace(" ", string.Empty, StringComparison.Ordinal);
            return folded.Contains($" {value.Folded} ", StringComparison.Ordinal) || (compact.Length >= 4 && plain.Contains(compact, StringComparison.Ordinal));
        }
    }

    private static void AddPicture(List<PublicationFinding> findings, PublishedPicture piece)
    {
        foreach (DrawnTextPlace place in piece.Found.Places)
        {
            if (!piece.Covered.Any(box => place.Box.ShareIn(box) > 0.999) && !piece.Kept.Contains(place.Box))
            {
                findings.Add(new PublicationFinding(
                    place.Kind,
                    piece.Where,
                    string.Create(CultureInfo.InvariantCulture, $"{Capital(Words(place.Kind))}{(place.Kind == IdentityKind.DrawnText ? string.Empty : ", drawn into the pixels,")} stands in {piece.Where}, at column {place.Box.Left}, row {place.Box.Top}: cover it."))
                {
                    Box = place.Box,
                });
            }
        }

        if (piece.Found.Unplaced is { } sentence && piece.Covered.Count == 0 && !piece.LookedOver)
        {
            findings.Add(new PublicationFinding(IdentityKind.DrawnText, piece.Where, sentence));
        }
    }

    private static void AddDicom(List<PublicationFinding> findings, KnownIdentity known, PublishedDicom piece)
    {
        DicomDataset dataset;
        try
        {
            dataset = DicomContent.Read(piece.Content, piece.Where).Dataset;
        }
        catch (UnreadableImageException)
        {
            findings.Add(new PublicationFinding(IdentityKind.FilePart, piece.Where, $"{Capital(piece.Where)} cannot be read, so it cannot be looked over."));
            return;
        }

        if (dataset.Text(0x00120062) != "YES")
        {
            findings.Add(new PublicationFinding(IdentityKind.FilePart, piece.Where, $"{Capital(piece.Where)} does not say that its patient's identity was removed."));
        }

        AddElements(findings, known, piece.Where, dataset);
    }

    private static void AddElements(List<PublicationFinding> findings, KnownIdentity known, string where, DicomDataset dataset)
    {
        foreach (DicomElement element in dataset.Elements)
        {
            string tag = element.Tag.ToString();
            if ((element.Tag.Group & 1) == 1 || element.Tag.Group is (>= 0x5000 and <= 0x50FF) or (>= 0x6000 and <= 0x60FF))
            {
                findings.Add(new PublicationFinding(IdentityKind.FilePart, where, $"A private element, overlay or curve {tag} stands in {where}."));
            }
            else if (element.Items is { } items)
            {
                foreach (DicomDataset item in items)
                {
                    AddElements(findings, known, where, item);
                }
            }
            else if (element.Vr is not ("OB" or "OW" or "OF" or "OD" or "OL" or "OV" or "US" or "SS" or "UL" or "SL" or "FL" or "FD" or "AT"))
            {
                foreach (string text in dataset.Texts(element.Tag) ?? [])
                {
                    FoldedText folded = new(text);
                    foreach (IdentityKind kind in known.Values.Where(value => !value.IsTerm && folded.PlacesOf(value.Folded).Any()).Select(value => value.Kind).Distinct())
                    {
                        findings.Add(new PublicationFinding(kind, where, $"{Capital(Words(kind))} stands in {where}, attribute {tag}."));
                    }
                }
            }
        }
    }

    // Six figures and more; letters joined to four figures and more, but for those of indices and standards and for a year after a short word; or the words that announce a number.
    [GeneratedRegex(@"(?<![\w.,])(?:\d{6,}|\d{2,4}(?:[-/ ]\d{2,4}){2,}|(?!(?:EI|DI|EIT|IEC|ISO|AAPM|RQA|TG|ICRP|PS)[-/ ])[A-Za-z]{1,4}(?! (?:19|20)\d\d(?![\d/-]))[-/ ]?\d{4,}(?:[-/]\d+)*|(?:MRN|PID|ID|Acc(?:ession)?|Fall(?:nummer)?|Pat(?:ienten)?(?:nummer|-Nr)?|NHC|Nr|No|Tel|Phone)\.?[ :#]*\d{3,}|#\d{3,})(?![\w])", RegexOptions.CultureInvariant | RegexOptions.IgnoreCase)]
    private static partial Regex Number();
}
