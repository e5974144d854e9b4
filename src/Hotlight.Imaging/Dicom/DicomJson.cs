using System.Buffers.Binary;
using System.Globalization;
using System.Text.Json;

namespace Hotlight.Imaging.Dicom;

/// <summary>Writes data sets in the DICOM JSON model, PS3.18 annex F.</summary>
public static class DicomJson
{
    /// <summary>Writes a data set as one JSON object. Texts are in Unicode, and Specific Character Set says so.</summary>
    /// <param name="writer">Where to.</param>
    /// <param name="dataset">The data set.</param>
    /// <param name="pixelDataUri">Where the pixel data can be had; null leaves it out.</param>
    public static void Write(Utf8JsonWriter writer, DicomDataset dataset, string? pixelDataUri = null)
    {
        ArgumentNullException.ThrowIfNull(writer);
        ArgumentNullException.ThrowIfNull(dataset);
        writer.WriteStartObject();
        foreach (DicomElement element in dataset.Elements)
        {
            // Group lengths have no place in the model (F.2.2).
            if (element.Tag.Element == 0 || (element.Tag == Tags.PixelData && pixelDataUri is null))
            {
                continue;
            }

            string vr = element.Items is not null ? "SQ" : element.Vr == "UN" ? DicomDictionary.VrOf(element.Tag) ?? "UN" : element.Vr;
            writer.WriteStartObject(element.Tag.Number.ToString("X8", CultureInfo.InvariantCulture));
            writer.WriteString("vr", vr);
            if (element.Tag == Tags.PixelData)
            {
                writer.WriteString("BulkDataURI", pixelDataUri);
            }
            else if (element.Tag == Tags.SpecificCharacterSet)
            {
                writer.WriteStartArray("Value");
                writer.WriteStringValue("ISO_IR 192");
                writer.WriteEndArray();
            }
            else
            {
                WriteValue(writer, dataset, element, vr);
            }

            writer.WriteEndObject();
        }

        writer.WriteEndObject();
    }

    private static void WriteValue(Utf8JsonWriter writer, DicomDataset dataset, DicomElement element, string vr)
    {
        if (element.Items is { } items)
        {
            if (items.Count > 0)
            {
                writer.WriteStartArray("Value");
                foreach (DicomDataset item in items)
                {
                    Write(writer, item);
                }

                writer.WriteEndArray();
            }

            return;
        }

        if (element.Value.Length == 0 || element.Fragments is not null)
        {
            return;
        }

        switch (vr)
        {
            case "OB" or "OW" or "OD" or "OF" or "OL" or "OV" or "UN":
                writer.WriteBase64String("InlineBinary", LittleEndian(element, vr));
                break;
            case "AT":
                writer.WriteStartArray("Value");
                byte[] words = LittleEndian(element, "OW");
                for (int place = 0; place + 4 <= words.Length; place += 4)
                {
                    writer.WriteStringValue($"{BinaryPrimitives.ReadUInt16LittleEndian(words.AsSpan(place)):X4}{BinaryPrimitives.ReadUInt16LittleEndian(words.AsSpan(place + 2)):X4}");
                }

                writer.WriteEndArray();
                break;
            case "US" or "SS" or "UL" or "SL" or "FL" or "FD" or "SV" or "UV":
                WriteNumbers(writer, LittleEndian(element, vr), vr);
                break;
            default:
                WriteTexts(writer, dataset, element, vr);
                break;
        }
    }

    private static void WriteNumbers(Utf8JsonWriter writer, byte[] bytes, string vr)
    {
        int size = vr switch { "US" or "SS" => 2, "UL" or "SL" or "FL" => 4, _ => 8 };
        writer.WriteStartArray("Value");
        for (int place = 0; place + size <= bytes.Length; place += size)
        {
            ReadOnlySpan<byte> value = bytes.AsSpan(place);
            switch (vr)
            {
                case "US":
                    writer.WriteNumberValue(BinaryPrimitives.ReadUInt16LittleEndian(value));
                    break;
                case "SS":
                    writer.WriteNumberValue(BinaryPrimitives.ReadInt16LittleEndian(value));
                    break;
                case "UL":
                    writer.WriteNumberValue(BinaryPrimitives.ReadUInt32LittleEndian(value));
                    break;
                case "SL":
                    writer.WriteNumberValue(BinaryPrimitives.ReadInt32LittleEndian(value));
                    break;
                case "UV":
                    writer.WriteNumberValue(BinaryPrimitives.ReadUInt64LittleEndian(value));
                    break;
                case "SV":
                    writer.WriteNumberValue(BinaryPrimitives.ReadInt64LittleEndian(value));
                    break;
                case "FL":
                    WriteFinite(writer, BinaryPrimitives.ReadSingleLittleEndian(value));
                    break;
                default:
                    WriteFinite(writer, BinaryPrimitives.ReadDoubleLittleEndian(value));
                    break;
            }
        }

        writer.WriteEndArray();
    }

    // Not a number and infinities are strings (F.2.3).
    private static void WriteFinite(Utf8JsonWriter writer, double value)
    {
        if (double.IsFinite(value))
        {
            writer.WriteNumberValue(value);
        }
        else
        {
            writer.WriteStringValue(double.IsNaN(value) ? "NaN" : value > 0 ? "inf" : "-inf");
        }
    }

    private static void WriteTexts(Utf8JsonWriter writer, DicomDataset dataset, DicomElement element, string vr)
    {
        string[]? values = vr is not ("ST" or "LT" or "UT" or "UR") ? dataset.Texts(element.Tag) : dataset.LongText(element.Tag) is { } text ? [text] : null;
        if (values is null)
        {
            return;
        }

        writer.WriteStartArray("Value");
        foreach (string value in values)
        {
            if (value.Length == 0)
            {
                writer.WriteNullValue();
            }
            else if (vr == "PN")
            {
                writer.WriteStartObject();
                string[] groups = value.Split('=');
                foreach ((string name, int index) in new[] { ("Alphabetic", 0), ("Ideographic", 1), ("Phonetic", 2) })
                {
                    if (index < groups.Length && groups[index].Length > 0)
                    {
                        writer.WriteString(name, groups[index]);
                    }
                }

                writer.WriteEndObject();
            }
            else if (vr is "DS" or "IS" && double.TryParse(value, NumberStyles.Float, CultureInfo.InvariantCulture, out double number) && double.IsFinite(number))
            {
                if (vr == "IS" && number == Math.Floor(number) && Math.Abs(number) < 1e15)
                {
                    writer.WriteNumberValue((long)number);
                }
                else
                {
                    writer.WriteNumberValue(number);
                }
            }
            else
            {
                writer.WriteStringValue(value);
            }
        }

        writer.WriteEndArray();
    }

    private static byte[] LittleEndian(DicomElement element, string vr)
    {
        byte[] bytes = element.Value.ToArray();
        int size = vr switch { "US" or "SS" or "OW" => 2, "UL" or "SL" or "FL" or "OF" or "OL" => 4, "FD" or "OD" or "SV" or "UV" or "OV" => 8, _ => 1 };
        if (element.IsBigEndian && size > 1)
        {
            for (int place = 0; place + size <= bytes.Length; place += size)
            {
                bytes.AsSpan(place, size).Reverse();
            }
        }

        return bytes;
    }
}
