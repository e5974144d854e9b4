namespace Hotlight.Imaging.Dicom;

/// <summary>A DICOM file taken apart: its file meta information, its data set, and how pixels are coded. Nothing is decoded or judged yet.</summary>
/// <param name="Meta">File meta information, group 0002; empty where the file has none.</param>
/// <param name="Dataset">The data set.</param>
/// <param name="Syntax">The transfer syntax, named by the file or told from its bytes.</param>
/// <param name="Remarks">What was odd, one sentence each.</param>
internal sealed record DicomFile(DicomDataset Meta, DicomDataset Dataset, TransferSyntax Syntax, IReadOnlyList<string> Remarks);
