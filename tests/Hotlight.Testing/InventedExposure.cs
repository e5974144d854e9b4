using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;

namespace Hotlight.Testing;

/// <summary>A drawn exposure for tests of the hosts: a limb (a vertical band of soft tissue with a band of bone) in a rectangular field. Not for judging a measure.</summary>
public static class InventedExposure
{
    /// <summary>The radiograph: linear, for processing, more exposure gives a higher value; field 10 % in from each side; limb over the middle fifth of the field; noise of 1 % of the signal.</summary>
    public static Radiograph Limb(int rows = 600, int columns = 500, int seed = 1)
    {
        const int direct = 12000;
        var random = new Random(seed);
        var pixels = new Raster<ushort>(rows, columns);
        int top = rows / 10, left = columns / 10;
        double limbHalf = (columns - (2 * left)) / 10.0;
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                bool inField = row >= top && row < rows - top && column >= left && column < columns - left;
                double across = Math.Abs(column - ((columns - 1) / 2.0)) / limbHalf;
                double signal = !inField ? 120 : across < 0.4 ? 2500 : across < 1 ? 12000 * Math.Exp(-1.2 * Math.Sqrt(1 - (across * across)) - 0.15) : direct;
                double noise = signal * 0.01 * Gaussian(random);
                pixels[row, column] = (ushort)Math.Clamp(signal + noise, 0, 16383);
            }
        }

        return new Radiograph
        {
            FileName = "limb.dcm",
            Source = ImageSource.Dicom,
            Pixels = pixels,
            BitsStored = 14,
            HighIsShownDark = true,
            PresentationIntent = PresentationIntent.ForProcessing,
            Relationship = PixelRelationship.Linear,
            RelationshipSign = 1,
            ReceptorSpacing = new PixelSpacing(0.2, 0.2),
            Encoding = "explicit little endian",
            Exposure = new ExposureRecord
            {
                ExposureIndex = 312,
                TargetExposureIndex = 250,
                DeviationIndex = 0.96,
                TubeVoltageKvp = 55,
                ExposureMas = 2.5,
                SourceImageDistanceMm = 1000,
                BodyPart = "WRIST",
                ViewPosition = "PA",
                Laterality = "L",
            },
        };
    }

    /// <summary>Writes a radiograph as a DICOM file.</summary>
    public static void Write(Radiograph radiograph, string path, string seed = "tests")
    {
        using FileStream stream = File.Create(path);
        DicomWriter.Write(stream, DxObject.Create(radiograph, new DxDescription { PatientName = "Invented^Limb", PatientId = "T-1", Seed = seed }));
    }

    private static double Gaussian(Random random)
        => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
