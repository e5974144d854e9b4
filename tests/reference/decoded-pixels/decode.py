#!/usr/bin/python3
"""Decodes the open radiographs with other authors' programs and writes the SHA-256 of their stored values.

Usage: decode.py DATA_FOLDER > hashes.json   (DATA_FOLDER holds radiographs-dicom, phantoms and malformed)

Stored values: Bits Stored bits of every word from High Bit down, sign-extended for signed pixels, as 16-bit
little-endian words, row-major. Each program decodes by itself:
  gdcm    python3-gdcm, ImageReader.GetBuffer (JPEG: IJG in gdcm; JPEG-LS: CharLS; JPEG 2000: OpenJPEG)
  dcmtk   dcmconv, dcmdrle, dcmdjpeg (IJG), dcmdjpls (CharLS in dcmtk); then the words of the uncompressed file
  pydicom only for uncompressed, deflated and RLE pixels, which it decodes itself with numpy
  ffmpeg  only for JPEG 2000: libavcodec's own jpeg2000 decoder on the bare code stream
Lossy JPEG is not exact between decoders: there a sample of dcmtk's values is stored instead (every STEP-th pixel).
"""
import hashlib
import json
import os
import subprocess
import sys
import tempfile
import warnings

import numpy
import pydicom
import pydicom.encaps
from pydicom.pixel_data_handlers import numpy_handler, rle_handler

warnings.filterwarnings("ignore")
STEP = 6151  # a prime, so that the sample wanders over all columns

NATIVE = {"1.2.840.10008.1.2", "1.2.840.10008.1.2.1", "1.2.840.10008.1.2.2", "1.2.840.10008.1.2.1.99"}
RLE = "1.2.840.10008.1.2.5"
LOSSY_JPEG = {"1.2.840.10008.1.2.4.50", "1.2.840.10008.1.2.4.51"}
JPEG = LOSSY_JPEG | {"1.2.840.10008.1.2.4.57", "1.2.840.10008.1.2.4.70"}
JPEG_LS = {"1.2.840.10008.1.2.4.80", "1.2.840.10008.1.2.4.81"}
JPEG_2000 = {"1.2.840.10008.1.2.4.90", "1.2.840.10008.1.2.4.91"}


def stored_values(words, dataset):
    """Masks and sign-extends raw words as the header says."""
    bits = int(dataset.BitsStored)
    shift = int(dataset.HighBit) + 1 - bits
    values = (words.astype(numpy.int64) >> shift) & ((1 << bits) - 1)
    if int(dataset.PixelRepresentation) == 1:
        values = numpy.where(values >= 1 << (bits - 1), values - (1 << bits), values)
    return values


def words_of(raw, dataset, big_endian=False):
    count = int(dataset.Rows) * int(dataset.Columns)
    if int(dataset.BitsAllocated) == 8:
        return numpy.frombuffer(raw[:count], numpy.uint8)
    return numpy.frombuffer(raw[: 2 * count], ">u2" if big_endian else "<u2")


def by_gdcm(path, dataset):
    import gdcm
    reader = gdcm.ImageReader()
    reader.SetFileName(path)
    if not reader.Read():
        return None
    raw = reader.GetImage().GetBuffer().encode("utf-8", errors="surrogateescape")
    return words_of(raw, dataset)


def by_dcmtk(path, dataset, syntax):
    tool = "dcmconv"
    options = ["+te"]
    if syntax == RLE:
        tool, options = "dcmdrle", []
    elif syntax in JPEG:
        tool, options = "dcmdjpeg", []
    elif syntax in JPEG_LS:
        tool, options = "dcmdjpls", []
    elif syntax in JPEG_2000:
        return None
    with tempfile.TemporaryDirectory() as folder:
        plain = os.path.join(folder, "plain.dcm")
        command = [tool, *options, path, plain]
        if subprocess.run(command, capture_output=True).returncode != 0 or not os.path.exists(plain):
            return None
        decoded = pydicom.dcmread(plain, force=True)
        return words_of(decoded.PixelData, decoded)


def by_pydicom(dataset, syntax):
    if syntax in NATIVE:
        dataset.file_meta.TransferSyntaxUID = pydicom.uid.UID(syntax)
        return numpy.asarray(numpy_handler.get_pixeldata(dataset)).astype(numpy.int64)
    if syntax == RLE:
        return numpy.asarray(rle_handler.get_pixeldata(dataset)).astype(numpy.int64)
    return None


def by_ffmpeg(dataset, syntax):
    if syntax not in JPEG_2000:
        return None
    stream = b"".join(pydicom.encaps.decode_data_sequence(dataset.PixelData))
    with tempfile.TemporaryDirectory() as folder:
        source = os.path.join(folder, "image.j2k")
        with open(source, "wb") as file:
            file.write(stream)
        probe = subprocess.run(["ffprobe", "-v", "error", "-f", "j2k_pipe", "-show_entries", "stream=pix_fmt", "-of", "csv=p=0", source], capture_output=True, text=True)
        if probe.stdout.strip() != "gray16le":
            return None
        run = subprocess.run(["ffmpeg", "-v", "error", "-f", "j2k_pipe", "-c:v", "jpeg2000", "-i", source, "-f", "rawvideo", "-"], capture_output=True)
        count = int(dataset.Rows) * int(dataset.Columns)
        if run.returncode != 0 or len(run.stdout) != 2 * count:
            return None
        # ffmpeg moves samples to the top of its 16 bits.
        precision = stream[42] % 128 + 1  # Ssiz of the SIZ segment
        return numpy.frombuffer(run.stdout, "<u2").astype(numpy.int64) >> (16 - precision)


def versions():
    import gdcm
    def first_line(command):
        run = subprocess.run(command, capture_output=True, text=True)
        return (run.stdout or run.stderr).splitlines()[0].strip()
    return {
        "gdcm": gdcm.Version.GetVersion(),
        "dcmtk": first_line(["dcmconv", "--version"]),
        "pydicom": pydicom.__version__,
        "numpy": numpy.__version__,
        "ffmpeg": first_line(["ffmpeg", "-version"]).split(" Copyright")[0],
    }


def main(root):
    files = {}
    for folder in ("radiographs-dicom", "phantoms", "malformed"):
        for name in sorted(os.listdir(os.path.join(root, folder))):
            path = os.path.join(root, folder, name)
            if name == "SOURCES.tsv":
                continue
            try:
                dataset = pydicom.dcmread(path, force=True)
                if "PixelData" not in dataset or int(dataset.get("SamplesPerPixel", 1)) != 1 or int(dataset.BitsAllocated) not in (8, 16):
                    continue
                meta = getattr(dataset, "file_meta", None)
                syntax = str(meta.TransferSyntaxUID) if meta is not None and "TransferSyntaxUID" in meta else "1.2.840.10008.1.2"
                if meta is None or "TransferSyntaxUID" not in meta:
                    dataset.file_meta = pydicom.dataset.FileMetaDataset()
            except Exception as error:  # a damaged file that this program cannot take apart has no answer to compare
                print(name, error, file=sys.stderr)
                continue
            answers = {}
            for tool, decode in (
                ("gdcm", lambda: by_gdcm(path, dataset)),
                ("dcmtk", lambda: by_dcmtk(path, dataset, syntax)),
                ("pydicom", lambda: by_pydicom(dataset, syntax)),
                ("ffmpeg", lambda: by_ffmpeg(dataset, syntax)),
            ):
                try:
                    words = decode()
                    if words is not None and not numpy.array_equal(words, decode()):
                        words = None  # gdcm hands out what was in memory where it could not decode
                except Exception as error:
                    print(name, tool, error, file=sys.stderr)
                    continue
                if words is not None and len(words) == int(dataset.Rows) * int(dataset.Columns):
                    answers[tool] = stored_values(words, dataset)
            entry = {"transferSyntax": syntax, "rows": int(dataset.Rows), "columns": int(dataset.Columns)}
            entry["sha256"] = {tool: hashlib.sha256(values.astype("<i4").astype("<u2").tobytes()).hexdigest() for tool, values in answers.items()}
            lossy = answers.get("dcmtk", answers.get("ffmpeg"))
            if (syntax in LOSSY_JPEG or syntax == "1.2.840.10008.1.2.4.91") and lossy is not None:
                entry["sampleStep"] = STEP
                entry["sample"] = [int(value) for value in lossy[::STEP]]
                entry["sampleFrom"] = "dcmtk" if "dcmtk" in answers else "ffmpeg"
            files[f"{folder}/{name}"] = entry
    json.dump({"madeBy": "decode.py", "versions": versions(), "files": files}, sys.stdout, indent=1)
    print()


if __name__ == "__main__":
    main(sys.argv[1])
