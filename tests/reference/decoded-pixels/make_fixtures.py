#!/usr/bin/python3
"""Makes the small DICOM files under fixtures/ and fixtures.json: one invented image per pixel layout, coded by
other authors' programs (dcmtk, gdcm) in every compressed transfer syntax they write.

Usage: make_fixtures.py   (run in this folder; needs python3-pydicom, numpy, dcmtk, libgdcm-tools)

fixtures.json gives for each file the SHA-256 of its stored values (as in decode.py): of the invented image for a
lossless coding, of dcmtk's decoding for JPEG-LS near-lossless, and the values themselves of dcmtk's decoding for lossy JPEG.
"""
import hashlib
import json
import os
import subprocess

import numpy
import pydicom
from pydicom.dataset import Dataset, FileMetaDataset

ROWS, COLUMNS = 37, 53
LAYOUTS = {  # name: allocated, stored, signed
    "u8": (8, 8, False),
    "u10": (16, 10, False),
    "u12": (16, 12, False),
    "u16": (16, 16, False),
    "s12": (16, 12, True),
    "s16": (16, 16, True),
}
CODINGS = {  # name: command, layouts it codes
    "rle": (["dcmcrle"], LAYOUTS),
    "jpll": (["dcmcjpeg", "+e1"], LAYOUTS),
    "jpll-predictor-4": (["dcmcjpeg", "+el", "+sv", "4"], ["u8", "u12", "u16"]),
    "jpls": (["dcmcjpls"], LAYOUTS),
    "jpls-near-3": (["dcmcjpls", "+en", "+md", "3"], LAYOUTS),
    "jpls-preset": (["dcmcjpls", "+t1", "5", "+t2", "20", "+t3", "90", "+rs", "32"], ["u12", "u16"]),
    "jpeg-baseline": (["dcmcjpeg", "+eb", "+q", "90", "+un"], ["u8"]),
    "jpeg-extended": (["dcmcjpeg", "+ee", "+q", "90", "+un"], ["u12"]),
    "j2k": (["gdcmconv", "--j2k"], LAYOUTS),
    "deflated": (["dcmconv", "+td"], LAYOUTS),
    "big-endian": (["dcmconv", "+tb"], LAYOUTS),
    "implicit": (["dcmconv", "+ti"], LAYOUTS),
}


def image(stored, signed):
    """A limb-like hump, a flat surround (runs), a block of noise, and single extremes."""
    rows, columns = numpy.mgrid[0:ROWS, 0:COLUMNS]
    top = (1 << stored) - 1
    values = top * 0.8 * numpy.exp(-((columns - 26.0) / 12.0) ** 2) * (0.7 + 0.3 * rows / ROWS)
    values[:, :6] = 0
    values[:5, :] = top // 3
    noise = numpy.random.default_rng(20240611)
    values[20:30, 30:45] += noise.normal(0, top / 50, (10, 15))
    values[10, 10], values[11, 11] = top, 0
    values = numpy.clip(numpy.rint(values), 0, top).astype(numpy.int64)
    return values - (1 << (stored - 1)) if signed else values


def dataset(name):
    allocated, stored, signed = LAYOUTS[name]
    values = image(stored, signed)
    data = Dataset()
    data.file_meta = FileMetaDataset()
    data.file_meta.TransferSyntaxUID = pydicom.uid.ExplicitVRLittleEndian
    data.file_meta.MediaStorageSOPClassUID = data.SOPClassUID = "1.2.840.10008.5.1.4.1.1.1"
    data.file_meta.MediaStorageSOPInstanceUID = data.SOPInstanceUID = "2.25." + str(int(hashlib.sha256(name.encode()).hexdigest()[:24], 16))
    data.StudyInstanceUID = data.SeriesInstanceUID = data.SOPInstanceUID + "1"
    data.PatientName, data.PatientID, data.Modality = "", "", "CR"
    data.Rows, data.Columns, data.SamplesPerPixel = ROWS, COLUMNS, 1
    data.PhotometricInterpretation = "MONOCHROME2"
    data.BitsAllocated, data.BitsStored, data.HighBit = allocated, stored, stored - 1
    data.PixelRepresentation = int(signed)
    kind = ("<i" if signed else "<u") + str(allocated // 8)
    raw = values.astype(kind).tobytes()
    data.PixelData = raw + b"\0" * (len(raw) % 2)
    data["PixelData"].VR = "OB" if allocated == 8 else "OW"
    data.is_little_endian, data.is_implicit_VR = True, False
    return data, values


def sha(values):
    return hashlib.sha256(values.astype("<i4").astype("<u2").tobytes()).hexdigest()


def decoded(path, name):
    """Stored values by dcmtk."""
    plain = path + ".plain"
    tool = "dcmdjpls" if "jpls" in path else "dcmdjpeg"
    subprocess.run([tool, path, plain], check=True)
    data = pydicom.dcmread(plain)
    os.remove(plain)
    _, stored, signed = LAYOUTS[name]
    words = numpy.frombuffer(data.PixelData[: ROWS * COLUMNS * data.BitsAllocated // 8], "<u2" if data.BitsAllocated == 16 else numpy.uint8)
    values = words.astype(numpy.int64) & ((1 << stored) - 1)
    return numpy.where(values >= 1 << (stored - 1), values - (1 << stored), values) if signed else values


def main():
    os.makedirs("fixtures", exist_ok=True)
    files = {}
    for name in LAYOUTS:
        data, values = dataset(name)
        source = f"fixtures/{name}.dcm"
        data.save_as(source, write_like_original=False)
        files[os.path.basename(source)] = {"sha256": sha(values)}
        for coding, (command, layouts) in CODINGS.items():
            if name not in layouts:
                continue
            path = f"fixtures/{name}-{coding}.dcm"
            run = subprocess.run([*command, source, path], capture_output=True, text=True)
            if run.returncode != 0 or not os.path.exists(path):
                print("not made:", path, run.stderr.strip()[:200])
                continue
            entry = {"sha256": sha(values)}
            if "near" in coding:
                entry = {"sha256": sha(decoded(path, name)), "near": 3, "original": [int(v) for v in values.ravel()]} if name == "u10" else {"sha256": sha(decoded(path, name))}
            elif coding.startswith("jpeg"):
                entry = {"values": [int(v) for v in decoded(path, name).ravel()]}
            files[os.path.basename(path)] = entry
    versions = {tool: subprocess.run([tool, "--version"], capture_output=True, text=True).stdout.splitlines()[0].strip() for tool in ("dcmcjpls", "dcmcjpeg", "dcmcrle", "gdcmconv")}
    with open("fixtures.json", "w", encoding="utf-8") as file:
        json.dump({"madeBy": "make_fixtures.py", "versions": versions, "files": files}, file, indent=0)
        file.write("\n")


if __name__ == "__main__":
    main()
