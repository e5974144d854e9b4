using System.Buffers.Binary;
using System.Globalization;
using System.Security.Cryptography;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Privacy.Publishing;

namespace Hotlight.Privacy;

/// <summary>Takes a patient's identity out of files, PS3.15 annex E, and checks that the radiograph in them is the same as before and that no value that was taken out stands in their bytes.</summary>
/// <remarks>
/// <para>Stricter than the table where it is silent: attributes that the standard does not know, private ones, names, free text, binary data and foreign UIDs go or are replaced wherever they stand. See docs/methods/privacy.md.</para>
/// <para>Not: text drawn into the pixels. A warning asks a person to look.</para>
/// </remarks>
public sealed class Deidentifier
{
    /// <summary>What Hotlight writes as De-identification Method (0012,0063).</summary>
    public const string Method = "Hotlight: PS3.15 Basic Profile";

    /// <summary>What Hotlight itself writes into a file: words of it are no find.</summary>
    internal const string OwnWords = Method + " Patient HOTLIGHT Hotlight Basic Application Confidentiality Profile Clean Pixel Data Option Graphics Structured Content Descriptors Retain Longitudinal Temporal Information Full Modified Dates Patient Characteristics Device Identity UIDs Safe Private Institution REMOVED MODIFIED UNMODIFIED";

    private const uint PatientName = 0x00100010;
    private const uint PatientId = 0x00100020;
    private const uint PatientAge = 0x00101010;
    private const uint StationName = 0x00081010;
    private const uint DetectorId = 0x0018700A;
    private const uint SopClassUid = 0x00080016;
    private const uint SopInstanceUid = 0x00080018;
    private const uint PixelData = 0x7FE00010;
    private const string Reports = "1.2.840.10008.5.1.4.1.1.88.";
    private const string PresentationStates = "1.2.840.10008.5.1.4.1.1.11.";
    private const string SecondaryCapture = "1.2.840.10008.5.1.4.1.1.7";
    private readonly PrivacyKey key;
    private readonly Retained retained;

    /// <summary>Creates it.</summary>
    /// <param name="key">The key from which pseudonyms, UIDs and date shifts are made.</param>
    /// <param name="retained">What stays beside what the basic profile leaves.</param>
    public Deidentifier(PrivacyKey key, Retained retained = Retained.ForTeaching)
    {
        ArgumentNullException.ThrowIfNull(key);
        this.key = key;
        this.retained = retained;
    }

    /// <summary>A file without its patient's identity; the pixels and all that is measured by are as before.</summary>
    /// <param name="content">The file's bytes; borrowed.</param>
    /// <param name="fileName">Name for messages.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <exception cref="UnreadableImageException">It is no radiograph Hotlight can judge, or the identity cannot be taken out of it.</exception>
    public DeidentifiedFile Clean(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(fileName);
        Radiograph before = RadiographReader.Read(content, fileName, cancellation);
        try
        {
            DeidentifiedFile cleaned = before.Source == ImageSource.Dicom ? CleanDicom(content, fileName, cancellation) : CleanPicture(content, before, fileName);
            CheckSame(before, RadiographReader.Read(cleaned.Content, fileName, cancellation), fileName);
            return cleaned;
        }
        catch (Exception error) when (error is not (OperationCanceledException or UnreadableImageException))
        {
            // Such as a value that is longer than its kind may be: readable, but not to be written again.
            throw new UnreadableImageException(fileName, "its header is damaged, so its patient's identity cannot be taken out.", error);
        }
    }

    /// <summary>A DICOM object that is no radiograph, without its patient's identity: structured reports, presentation states, key object selections. What the options do not keep of their content goes.</summary>
    /// <param name="content">The file's bytes; borrowed.</param>
    /// <param name="fileName">Name for messages.</param>
    /// <param name="cancellation">Stops it.</param>
    /// <returns>Null where the file is none of these.</returns>
    /// <exception cref="UnreadableImageException">The identity cannot be taken out of it.</exception>
    public DeidentifiedFile? CleanObject(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(fileName);
        if (!DicomContent.LooksLikeDicom(content.Span))
        {
            return null;
        }

        try
        {
            DicomContent file = DicomContent.Read(content, fileName, cancellation);
            string sopClass = file.Dataset.Text(SopClassUid) ?? string.Empty;
            bool isTaken = !file.Dataset.Contains(PixelData) && (sopClass.StartsWith(Reports, StringComparison.Ordinal) || sopClass.StartsWith(PresentationStates, StringComparison.Ordinal));
            return isTaken ? CleanDicom(content, fileName, cancellation) : null;
        }
        catch (Exception error) when (error is not (OperationCanceledException or UnreadableImageException))
        {
            throw new UnreadableImageException(fileName, "its header is damaged, so its patient's identity cannot be taken out.", error);
        }
    }

    /// <summary>The name of a file for the reader: the pseudonym where the name holds a word of the patient's identity, such as a surname.</summary>
    /// <param name="content">The file's bytes before anything was taken out.</param>
    /// <param name="fileName">Its name.</param>
    /// <param name="identity">Its identity.</param>
    public string NameFor(ReadOnlyMemory<byte> content, string fileName, CaseIdentity identity)
    {
        ArgumentNullException.ThrowIfNull(fileName);
        ArgumentNullException.ThrowIfNull(identity);
        if (identity.PatientLabel is not { } label)
        {
            return fileName;
        }

        DicomDataset dataset = DicomContent.Read(content, fileName).Dataset;
        return NamesAnybody(dataset, fileName) ? $"{label} {identity.InstanceUid?[^Math.Min(4, identity.InstanceUid.Length)..]}.dcm" : fileName;
    }

    /// <summary>The name of a folder that the file lies in, for the reader: the pseudonym where the name holds a word of the patient's identity.</summary>
    /// <param name="content">The file's bytes before anything was taken out.</param>
    /// <param name="folderName">The folder's name alone.</param>
    /// <param name="identity">The file's identity.</param>
    public string FolderNameFor(ReadOnlyMemory<byte> content, string folderName, CaseIdentity identity)
    {
        ArgumentNullException.ThrowIfNull(folderName);
        ArgumentNullException.ThrowIfNull(identity);
        return identity.PatientLabel is { } label && NamesAnybody(DicomContent.Read(content, folderName).Dataset, folderName) ? label : folderName;
    }

    // File names run words together: a part of a longer word counts too.
    private bool NamesAnybody(DicomDataset dataset, string name)
    {
        string plain = string.Concat(DescriptorWords.Words(name));
        if (IdentifyingValues.Of(dataset, retained).All.Select(value => string.Concat(DescriptorWords.Words(value)))
            .Any(value => value.Length >= IdentifyingValues.Shortest && plain.Contains(value, StringComparison.OrdinalIgnoreCase)))
        {
            return true;
        }

        // Dates, UIDs and what else is known, as far as it does not stay.
        KnownIdentity known = KnownIdentity.Of(dataset).Where(value => value.Kind switch
        {
            IdentityKind.Uid => !retained.HasFlag(Retained.Uids),
            IdentityKind.ExaminationDate => !retained.HasFlag(Retained.FullDates),
            IdentityKind.Device => !retained.HasFlag(Retained.DeviceIdentity),
            IdentityKind.Institution => !retained.HasFlag(Retained.InstitutionIdentity),
            _ => true,
        });
        List<PublicationFinding> findings = [];
        PublicationGate.AddFileName(findings, known, new PublishedFileName("the name", name));
        return findings.Count > 0;
    }

    private static void CheckSame(Radiograph before, Radiograph after, string fileName)
    {
        bool isSame = before.Rows == after.Rows && before.Columns == after.Columns && before.BitsStored == after.BitsStored && before.StoredMinimum == after.StoredMinimum
            && before.HighIsShownDark == after.HighIsShownDark && before.ReceptorSpacing == after.ReceptorSpacing
            && before.Pixels.Samples.SequenceEqual(after.Pixels.Samples);
        if (!isSame)
        {
            throw new UnreadableImageException(fileName, "its patient's identity could not be taken out without changing the image, so it was not taken.");
        }
    }

    private DeidentifiedFile CleanPicture(ReadOnlyMemory<byte> content, Radiograph radiograph, string fileName)
    {
        Dictionary<string, int> dropped = [];
        void Drop(string part) => dropped[part] = dropped.GetValueOrDefault(part) + 1;
        byte[] cleaned = radiograph.Source switch
        {
            ImageSource.Png => StreamCleaner.Png(content.Span, Drop),
            ImageSource.Jpeg => StreamCleaner.Jpeg(content.Span, Drop),
            _ => StreamCleaner.Tiff(radiograph.Rows, radiograph.Columns, radiograph.BitsStored, radiograph.HighIsShownDark, radiograph.Pixels.Samples),
        } ?? throw new UnreadableImageException(fileName, "what it carries beside the pixels could not be taken out.");
        return new DeidentifiedFile(cleaned, CaseIdentity.None, new PrivacyReport(
            [.. dropped.OrderBy(part => part.Key, StringComparer.Ordinal).Select(part => new PrivacyChange(part.Key, null, PrivacyAction.Remove, part.Value))],
            ["A picture may show a name in its pixels: look at it before you pass it on."]) { Check = new PrivacyCheck(0, 0, cleaned.Length) });
    }

    private DeidentifiedFile CleanDicom(ReadOnlyMemory<byte> content, string fileName, CancellationToken cancellation)
    {
        DicomContent file = DicomContent.Read(content, fileName, cancellation);
        DicomDataset source = file.Dataset;
        CaseIdentity identity = CaseIdentity.Of(source, key);
        Treatment treatment = new(key, retained, CaseIdentity.PatientOf(source) ?? string.Empty, IdentifyingValues.Of(source, retained));
        DicomDataset cleaned = treatment.Treat(source, isTop: true);

        string label = identity.PatientLabel ?? key.Pseudonym("content:" + Convert.ToHexString(SHA256.HashData(content.Span)));
        cleaned.SetText(PatientName, "PN", "Patient " + label).SetText(PatientId, "LO", label);
        if (cleaned.Text(SopClassUid) is null)
        {
            cleaned.SetText(SopClassUid, "UI", file.Meta.Text(0x00020002) ?? SecondaryCapture);
        }

        if (cleaned.Text(SopInstanceUid) is null)
        {
            string original = file.Meta.Text(0x00020003) ?? "content:" + Convert.ToHexString(SHA256.HashData(content.Span));
            cleaned.SetText(SopInstanceUid, "UI", key.Uid(original));
        }

        Describe(cleaned);
        CleanPixels(file, cleaned, treatment, fileName);
        treatment.DropLeaks(cleaned);
        byte[] written = file.Write(cleaned);
        PrivacyCheck check = Check(written, treatment.Original.Known(source, DicomContent.Read(written, fileName, cancellation).Dataset, retained, OwnWords), fileName);
        List<string> warnings = source.Text(0x00280301) switch
        {
            "YES" => ["The header says that text is drawn into the pixels: look at the picture before you pass it on."],
            "NO" => [],
            _ when !source.Contains(PixelData) => [],
            _ => ["The header does not say whether text is drawn into the pixels: look at the picture before you pass it on."],
        };
        return new DeidentifiedFile(
            written,
            CaseIdentity.Of(cleaned, key) with { PatientKey = identity.PatientKey, PatientLabel = label, AccessionKey = identity.AccessionKey },
            new PrivacyReport(treatment.Changes(), warnings) { Edition = ConfidentialityProfile.Edition, Options = [.. Options().Select(option => option.Code)], Check = check });
    }

    private static PrivacyCheck Check(byte[] written, (KnownIdentity Known, int AlsoKept) original, string fileName)
    {
        IdentitySearch search = new(original.Known);
        IReadOnlyList<PublicationFinding> findings = search.Search(written, "what was to be written");
        return findings.Count == 0
            ? new PrivacyCheck(search.Values, original.AlsoKept, written.Length)
            : throw new UnreadableImageException(fileName, $"{char.ToLowerInvariant(findings[0].Sentence[0])}{findings[0].Sentence[1..^1]}, so the file is not taken.");
    }

    /// <summary>Says what was done, PS3.15 E.1.1 and PS3.16 CID 7050.</summary>
    private void Describe(DicomDataset cleaned)
    {
        cleaned.SetText(0x00120062, "CS", "YES")
            .SetText(0x00120063, "LO", Method)
            .SetItems(0x00120064, [.. Options().Select(option => Code(option.Code, option.Meaning))])
            .SetText(0x00280303, "CS", retained.HasFlag(Retained.FullDates) ? "UNMODIFIED" : retained.HasFlag(Retained.ModifiedDates) ? "MODIFIED" : "REMOVED");
    }

    private IEnumerable<(string Code, string Meaning)> Options()
    {
        yield return ("113100", "Basic Application Confidentiality Profile");
        foreach ((Retained option, string code, string meaning) in new[]
        {
            (Retained.CleanedGraphics, "113103", "Clean Graphics Option"),
            (Retained.CleanedContent, "113104", "Clean Structured Content Option"),
            (Retained.CleanedDescriptors, "113105", "Clean Descriptors Option"),
            (Retained.FullDates, "113106", "Retain Longitudinal Temporal Information Full Dates Option"),
            (Retained.ModifiedDates, "113107", "Retain Longitudinal Temporal Information Modified Dates Option"),
            (Retained.PatientCharacteristics, "113108", "Retain Patient Characteristics Option"),
            (Retained.DeviceIdentity, "113109", "Retain Device Identity Option"),
            (Retained.Uids, "113110", "Retain UIDs Option"),
            (Retained.SafePrivate, "113111", "Retain Safe Private Option"),
            (Retained.InstitutionIdentity, "113112", "Retain Institution Identity Option"),
        })
        {
            if (retained.HasFlag(option))
            {
                yield return (code, meaning);
            }
        }
    }

    internal static DicomDataset Code(string value, string meaning)
        => new DicomDataset().SetText(0x00080100, "SH", value).SetText(0x00080102, "SH", "DCM").SetText(0x00080104, "LO", meaning);

    private static void CleanPixels(DicomContent file, DicomDataset cleaned, Treatment treatment, string fileName)
    {
        if (cleaned.Find(PixelData) is not { } pixels)
        {
            return;
        }

        if (pixels.Fragments is { } fragments)
        {
            if (file.IsJpeg || file.IsJpeg2000)
            {
                byte[] stream = Joined(fragments);
                void Drop(string part) => treatment.Count(PixelData, PrivacyAction.CleanWords);
                byte[] clean = (file.IsJpeg ? StreamCleaner.Jpeg(stream, Drop) : StreamCleaner.Jpeg2000(stream, Drop))
                    ?? throw new UnreadableImageException(fileName, "its compressed pixel data could not be searched for text, so its patient's identity cannot be taken out.");
                cleaned.Set(DicomElement.OfFragments(PixelData, [ReadOnlyMemory<byte>.Empty, clean]));
            }

            return;
        }

        if (file.HasBigEndianPixels)
        {
            pixels = DicomElement.OfValue(PixelData, "OW", pixels.Value, isBigEndian: true);
            cleaned.Set(pixels);
        }

        int stored = cleaned.Integer(0x00280101) ?? 16;
        int highBit = cleaned.Integer(0x00280102) ?? stored - 1;
        if (cleaned.Integer(0x00280100) != 16 || stored >= 16 || stored < 1 || highBit is < 0 or > 15 || highBit < stored - 1)
        {
            return;
        }

        // Bits beside the pixel can hold a drawn overlay (PS3.5 8.1.1 of older editions): they become 0, or the sign of a signed pixel.
        int shift = highBit - stored + 1;
        int mask = ((1 << stored) - 1) << shift;
        bool isSigned = cleaned.Integer(0x00280103) == 1 && shift == 0;
        byte[] words = pixels.Value.ToArray();
        bool isChanged = false;
        for (int i = 0; i + 1 < words.Length; i += 2)
        {
            Span<byte> place = words.AsSpan(i, 2);
            int word = pixels.IsBigEndian ? BinaryPrimitives.ReadUInt16BigEndian(place) : BinaryPrimitives.ReadUInt16LittleEndian(place);
            int clean = word & mask;
            if (isSigned && (clean & (1 << highBit)) != 0)
            {
                clean |= 0xFFFF & ~mask;
            }

            if (clean != word)
            {
                isChanged = true;
                if (pixels.IsBigEndian)
                {
                    BinaryPrimitives.WriteUInt16BigEndian(place, (ushort)clean);
                }
                else
                {
                    BinaryPrimitives.WriteUInt16LittleEndian(place, (ushort)clean);
                }
            }
        }

        if (isChanged)
        {
            treatment.Count(PixelData, PrivacyAction.CleanWords);
            cleaned.Set(DicomElement.OfValue(PixelData, pixels.Vr, words, pixels.IsBigEndian, pixels.IsCut));
        }
    }

    // The first fragment is the offset table.
    private static byte[] Joined(IReadOnlyList<ReadOnlyMemory<byte>> fragments)
    {
        byte[] stream = new byte[fragments.Skip(1).Sum(fragment => (long)fragment.Length)];
        int place = 0;
        foreach (ReadOnlyMemory<byte> fragment in fragments.Skip(1))
        {
            fragment.CopyTo(stream.AsMemory(place));
            place += fragment.Length;
        }

        return stream;
    }

    /// <summary>One file's way through the table.</summary>
    private sealed class Treatment(PrivacyKey key, Retained retained, string patient, IdentifyingValues identifying)
    {
        private readonly SortedDictionary<(uint Tag, PrivacyAction Action), int> counts = [];
        private readonly int daysBack = key.DaysBack(patient);

        /// <summary>What was taken out.</summary>
        public OriginalValues Original { get; } = new();

        public void Count(DicomTag tag, PrivacyAction action) => counts[(tag.Number, action)] = counts.GetValueOrDefault((tag.Number, action)) + 1;

        public IReadOnlyList<PrivacyChange> Changes()
            => [.. counts.Select(each => new PrivacyChange(((DicomTag)each.Key.Tag).ToString(), DicomDictionary.KeywordOf(each.Key.Tag), each.Key.Action, each.Value))];

        public DicomDataset Treat(DicomDataset source, bool isTop)
        {
            DicomDataset result = new();
            foreach (DicomElement element in source.Elements)
            {
                // Group lengths are retired and would be wrong.
                if (element.Tag.Element == 0 || element.Tag.Group <= 0x0004)
                {
                    Original.Take(source, element);
                    continue;
                }

                Put(result, source, element, isTop);
            }

            return result;
        }

        /// <summary>Removes texts that stayed but hold a word of the patient's identity.</summary>
        public void DropLeaks(DicomDataset dataset)
        {
            foreach (DicomElement element in dataset.Elements.ToArray())
            {
                if (element.Items is { } items)
                {
                    foreach (DicomDataset item in items)
                    {
                        DropLeaks(item);
                    }
                }
                else if (element.Vr is "LO" or "SH" or "ST" or "LT" or "UT" or "UC" or "UR" or "AE" or "CS" or "PN"
                    && element.Tag.Number is not (PatientName or PatientId or 0x00120063) && element.Tag.Group != 0x0028
                    && identifying.StandIn(dataset.Texts(element.Tag) ?? []))
                {
                    dataset.Remove(element.Tag);
                    Count(element.Tag, PrivacyAction.Remove);
                }
            }
        }

        private void Put(DicomDataset result, DicomDataset source, DicomElement element, bool isTop)
        {
            DicomTag tag = element.Tag;
            bool isPrivate = (tag.Group & 1) == 1;
            bool isDrawing = tag.Group is (>= 0x5000 and <= 0x50FF) or (>= 0x6000 and <= 0x60FF);
            string? known = DicomDictionary.VrOf(tag);
            string vr = element.Items is not null ? "SQ" : element.Vr == "UN" ? known ?? "UN" : element.Vr;
            if (isPrivate && retained.HasFlag(Retained.SafePrivate) && PutPrivate(result, source, element))
            {
                return;
            }

            if (isPrivate || isDrawing || known is null || vr == "UN" || (vr == "SQ" && element.Items is null) || (vr != "SQ" && known == "SQ"))
            {
                Original.Take(source, element);
                Count(tag, PrivacyAction.Remove);
                return;
            }

            if (element.Vr == "UN" && element.Items is null)
            {
                element = DicomElement.OfValue(tag, vr, element.Value);
                source = new DicomDataset().Set(element);
            }

            PrivacyAction action = tag.Number is PatientName or PatientId && isTop
                ? PrivacyAction.Replace
                : ConfidentialityProfile.Find(tag, vr, retained) ?? Unlisted(tag, vr, element, source);
            if (action is not (PrivacyAction.Keep or PrivacyAction.Open or PrivacyAction.CleanContent))
            {
                Original.Take(source, element);
            }

            if (tag.Number is StationName or DetectorId && action == PrivacyAction.Remove && source.Text(tag) is { } device)
            {
                // X/Z/D and X/D allow a value in place of the name: by it the exposures of a room stay together.
                Count(tag, PrivacyAction.Replace);
                result.SetText(tag, vr, key.DevicePseudonym(tag.Number == StationName ? 'S' : 'D', device));
                return;
            }

            switch (action)
            {
                case PrivacyAction.Keep:
                    Keep(result, source, element);
                    break;
                case PrivacyAction.Open:
                    result.Set(DicomElement.OfItems(tag, [.. element.Items!.Select(item => Treat(item, isTop: false))]));
                    break;
                case PrivacyAction.CleanContent:
                    result.Set(DicomElement.OfItems(tag, CleanItems(element)));
                    break;
                case PrivacyAction.Remove:
                    Count(tag, action);
                    break;
                case PrivacyAction.Empty:
                    if (element.Value.Length > 0 || element.Items is { Count: > 0 })
                    {
                        Count(tag, action);
                    }

                    result.Set(vr == "SQ" ? DicomElement.OfItems(tag, []) : DicomElement.OfValue(tag, vr, ReadOnlyMemory<byte>.Empty));
                    break;
                case PrivacyAction.Replace:
                    Count(tag, action);
                    if (vr == "AE" && source.Text(tag) is { } title)
                    {
                        result.SetText(tag, vr, key.DevicePseudonym('A', title));
                    }
                    else
                    {
                        Replace(result, tag, vr);
                    }

                    break;
                case PrivacyAction.ReplaceUid:
                    ReplaceUids(result, source, tag);
                    break;
                case PrivacyAction.ShiftDate:
                    Shift(result, source, tag, vr);
                    break;
                default:
                    CleanText(result, source, tag, vr);
                    break;
            }
        }

        /// <summary>Puts a private attribute that the standard's list calls safe, with the creator of its block.</summary>
        /// <returns>Whether it was put; false: it goes.</returns>
        private bool PutPrivate(DicomDataset result, DicomDataset source, DicomElement element)
        {
            DicomTag tag = element.Tag;
            DicomTag block = (uint)((tag.Group << 16) | (tag.Element >> 8));
            if (tag.Element < 0x1000 || source.Text(block) is not { } creator || ConfidentialityProfile.SafePrivateVr(creator, tag) is not { } listed)
            {
                // The creator of a block comes with the first attribute that is put.
                return tag.Element is >= 0x10 and <= 0xFF && result.Contains(tag);
            }

            string vr = element.Items is not null ? "SQ" : element.Vr == "UN" ? listed : element.Vr;
            if (element.Vr == "UN" && element.Items is null)
            {
                element = DicomElement.OfValue(tag, vr, element.Value);
                source = new DicomDataset().Set(element);
            }

            switch (vr)
            {
                case "SQ" when element.Items is not null:
                    result.Set(DicomElement.OfItems(tag, [.. element.Items.Select(item => Treat(item, isTop: false))]));
                    break;
                case "UI":
                    if (retained.HasFlag(Retained.Uids))
                    {
                        result.Set(element);
                    }
                    else
                    {
                        Original.Take(source, element);
                        ReplaceUids(result, source, tag);
                    }

                    break;
                case "CS" or "DS" or "IS" or "LO" or "SH" or "ST" or "LT" or "US" or "SS" or "UL" or "SL" or "FL" or "FD" or "AT":
                    result.Set(element);
                    break;
                default:
                    // Binary data, names and dates: nobody can look into the first, and the list has none of the others.
                    return false;
            }

            result.SetText(block, "LO", creator);
            return true;
        }

        /// <summary>Content items, each by its concept (PS3.15 E.3.4); those that may not stay are left out with what they contain.</summary>
        private DicomDataset[] CleanItems(DicomElement sequence)
        {
            List<DicomDataset> kept = [];
            foreach (DicomDataset item in sequence.Items!)
            {
                const uint ValueType = 0x0040A040;
                const uint TextValue = 0x0040A160;
                const uint Uid = 0x0040A124;
                string type = item.Text(ValueType) ?? string.Empty;
                DicomDataset? concept = item.Items(0x0040A043) is [{ } name, ..] ? name : null;
                PrivacyAction? action = concept is null ? null
                    : ConfidentialityProfile.FindConcept(concept.Text(0x00080102) ?? string.Empty, concept.Text(0x00080100) ?? string.Empty, type, retained);

                // A text that the table does not name is a description like another.
                action ??= type == "TEXT" ? retained.HasFlag(Retained.CleanedDescriptors) ? PrivacyAction.CleanWords : PrivacyAction.Remove : null;
                string? text = item.LongText(TextValue);
                string cleaned = text is null ? string.Empty : DescriptorWords.Clean(text, identifying.NameWords);
                if (action == PrivacyAction.Remove || (action == PrivacyAction.CleanWords && type == "TEXT" && cleaned.Length == 0))
                {
                    Original.Take(item, DicomElement.OfItems(sequence.Tag, [item]));
                    Count(sequence.Tag, PrivacyAction.Remove);
                    continue;
                }

                DicomDataset treated = Treat(item, isTop: false);
                if (type == "TEXT" && text is not null)
                {
                    if (action == PrivacyAction.Keep)
                    {
                        treated.Set(item.Find(TextValue)!);
                    }
                    else
                    {
                        treated.SetText(TextValue, "UT", action == PrivacyAction.CleanWords ? cleaned : "REMOVED");
                    }

                    if (action != PrivacyAction.Keep && text != cleaned)
                    {
                        Count(TextValue, action == PrivacyAction.CleanWords ? PrivacyAction.CleanWords : PrivacyAction.Replace);
                    }
                }
                else if (action == PrivacyAction.Keep && item.Find(Uid) is { } uid)
                {
                    treated.Set(uid);
                }

                kept.Add(treated);
            }

            return [.. kept];
        }

        // Where the table is silent: what can hold a name or tell a person from others goes, numbers and coded strings stay.
        private PrivacyAction Unlisted(DicomTag tag, string vr, DicomElement element, DicomDataset source)
        {
            switch (vr)
            {
                case "SQ":
                    return PrivacyAction.Open;
                case "PN" or "LT" or "ST" or "UT" or "UC" or "UR" or "AE":
                    return PrivacyAction.Remove;
                case "OB" or "OW" or "OF" or "OD" or "OL" or "OV":
                    return tag.Group is 0x0028 or 0x7FE0 || element.Fragments is not null ? PrivacyAction.Keep : PrivacyAction.Remove;
                case "DA" or "DT" or "TM":
                    return retained.HasFlag(Retained.FullDates) || (vr == "TM" && retained.HasFlag(Retained.ModifiedDates)) ? PrivacyAction.Keep
                        : retained.HasFlag(Retained.ModifiedDates) ? PrivacyAction.ShiftDate : PrivacyAction.Remove;
                case "UI":
                    return retained.HasFlag(Retained.Uids) ? PrivacyAction.Keep : PrivacyAction.ReplaceUid;
                case "LO" or "SH":
                    // Maker, model, software, coding schemes and units say nothing of a person.
                    return tag.Number is 0x00080070 or 0x00081090 or 0x00181020 or 0x00080100 or 0x00080102 or 0x00080103 or 0x00281054 or 0x0018702A or 0x0018702B
                        ? PrivacyAction.Keep
                        : tag.Number == 0x00080104 && retained.HasFlag(Retained.CleanedContent) && IsPublishedScheme(source.Text(0x00080102)) ? PrivacyAction.Keep
                        : retained.HasFlag(Retained.CleanedDescriptors) || tag.Number == 0x00080104 ? PrivacyAction.CleanWords : PrivacyAction.Remove;
                case "CS":
                    // A coded string has capitals, digits, space and underscore, 16 at most (PS3.5 6.2): anything else is free text in a wrong place.
                    return (source.Texts(tag) ?? []).All(value => value.Length <= 16 && value.All(letter => char.IsAsciiLetterUpper(letter) || char.IsAsciiDigit(letter) || letter is ' ' or '_'))
                        ? PrivacyAction.Keep
                        : PrivacyAction.CleanWords;
                default:
                    return PrivacyAction.Keep;
            }
        }

        // The meaning of a code that stands in a published list is a term of that list; codes of one's own (99...) can mean anything.
        private static bool IsPublishedScheme(string? scheme) => scheme is "DCM" or "SCT" or "SRT" or "SNM3" or "LN" or "UCUM" or "NCIt" or "NCDR" or "UMLS" or "FMA" or "RADLEX" or "MDC";

        private void Keep(DicomDataset result, DicomDataset source, DicomElement element)
        {
            // Ages above 89 tell a person from others: they become 90 (45 CFR 164.514(b)(2)(i)(C), from memory).
            if (element.Tag.Number == PatientAge && source.Text(PatientAge) is { Length: 4 } age && age[3] is 'Y' or 'y'
                && int.TryParse(age.AsSpan(0, 3), NumberStyles.None, CultureInfo.InvariantCulture, out int years) && years > 89)
            {
                result.SetText(PatientAge, "AS", "090Y");
                Count(element.Tag, PrivacyAction.Replace);
            }
            else if (element.Items is { } items)
            {
                result.Set(DicomElement.OfItems(element.Tag, [.. items.Select(item => Treat(item, isTop: false))]));
            }
            else
            {
                result.Set(element);
            }

        }

        private static void Replace(DicomDataset result, DicomTag tag, string vr)
            => result.Set(vr switch
            {
                "DA" => DicomElement.OfValue(tag, vr, "19000101"u8.ToArray()),
                "TM" => DicomElement.OfValue(tag, vr, "000000"u8.ToArray()),
                "DT" => DicomElement.OfValue(tag, vr, "19000101000000"u8.ToArray()),
                "DS" or "IS" => DicomElement.OfValue(tag, vr, "0 "u8.ToArray()),
                "AS" => DicomElement.OfValue(tag, vr, "000Y"u8.ToArray()),
                "UI" => DicomElement.OfValue(tag, vr, "2.25.0"u8.ToArray()),
                "LO" or "SH" or "PN" or "ST" or "LT" or "UT" or "UC" or "AE" or "CS" or "UR" => DicomElement.OfValue(tag, vr, "REMOVED "u8.ToArray()),
                _ => DicomElement.OfValue(tag, vr, new byte[8]),
            });

        private void ReplaceUids(DicomDataset result, DicomDataset source, DicomTag tag)
        {
            string[] uids = source.Texts(tag) ?? [];
            string[] others = [.. uids.Select(uid => uid.Length == 0 || IsOfTheStandard(uid) ? uid : key.Uid(uid))];
            if (!uids.SequenceEqual(others, StringComparer.Ordinal))
            {
                Count(tag, PrivacyAction.ReplaceUid);
            }

            result.SetText(tag, "UI", others);
        }

        // UIDs of classes, syntaxes and well-known instances are the same everywhere.
        private static bool IsOfTheStandard(string uid) => uid.StartsWith("1.2.840.10008.", StringComparison.Ordinal);

        private void Shift(DicomDataset result, DicomDataset source, DicomTag tag, string vr)
        {
            string[] moments = source.Texts(tag) ?? [];
            string[] moved = [.. moments.Select(moment => Moved(vr == "DA" ? moment.Replace(".", string.Empty, StringComparison.Ordinal) : moment, vr))];
            if (moments.Length > 0)
            {
                Count(tag, PrivacyAction.ShiftDate);
            }

            result.SetText(tag, vr, moved);
        }

        private string Moved(string moment, string vr)
        {
            if (moment.Length < 8 || !DateTime.TryParseExact(moment.AsSpan(0, 8), "yyyyMMdd", CultureInfo.InvariantCulture, DateTimeStyles.None, out DateTime date) || date.Year < 20)
            {
                return string.Empty;
            }

            string rest = vr == "DA" ? string.Empty : new string([.. moment[8..].TakeWhile(letter => char.IsAsciiDigit(letter))]);
            return date.AddDays(-daysBack).ToString("yyyyMMdd", CultureInfo.InvariantCulture) + rest[..Math.Min(rest.Length, 6)];
        }

        private void CleanText(DicomDataset result, DicomDataset source, DicomTag tag, string vr)
        {
            if (vr is not ("LO" or "SH" or "ST" or "LT" or "UT" or "UC" or "CS"))
            {
                Count(tag, PrivacyAction.Remove);
                return;
            }

            string[] texts = source.Texts(tag) ?? [];
            string[] cleaned = [.. texts.Select(text => DescriptorWords.Clean(text, identifying.NameWords))];
            if (cleaned.All(text => text.Length == 0))
            {
                if (texts.Length > 0)
                {
                    Count(tag, PrivacyAction.Remove);
                }

                if (tag.Number == 0x00080104)
                {
                    // A code must have a meaning.
                    result.SetText(tag, vr, "REMOVED");
                }

                return;
            }

            if (!cleaned.SequenceEqual(texts, StringComparer.Ordinal))
            {
                Count(tag, PrivacyAction.CleanWords);
            }

            int longest = vr is "SH" or "CS" ? 16 : vr == "LO" ? 64 : 1024;
            result.SetText(tag, vr, [.. cleaned.Select(text => text[..Math.Min(text.Length, longest)].TrimEnd())]);
        }
    }
}
