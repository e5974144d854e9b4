#!/usr/bin/python3
"""Shown values by pydicom for windows and tables of every function, written to tables.json.

Usage: make_tables.py > tables.json   (needs python3-pydicom, numpy)

"shown" is pydicom's apply_voi_lut(apply_modality_lut(stored)) scaled to 0..1 over its output range
(PS3.3 C.11.1 and C.11.2), before polarity.
"""
import json
import sys

import numpy
import pydicom
from pydicom.dataset import Dataset
from pydicom.pixel_data_handlers.util import apply_modality_lut, apply_voi_lut

WINDOWS = [
    # bits, signed, slope, intercept, center, width, function
    (12, 0, 1, 0, 2048, 4096, "LINEAR"),
    (12, 0, 0.684, 200, 1600, 2800, "LINEAR"),
    (10, 0, 1, 0, 550, 1024, "LINEAR"),
    (10, 0, -1, 1023, 400, 300.5, "LINEAR"),
    (12, 1, 1, 0, 0, 100, "LINEAR"),
    (12, 1, 2, -1024, 40, 400, "LINEAR_EXACT"),
    (14, 0, 1, 0, 8192, 1, "LINEAR"),
    (12, 0, 1, 0, 2048, 1500, "SIGMOID"),
    (16, 0, 1, 0, 32767, 65535, "SIGMOID"),
]


def dataset(bits, signed):
    data = Dataset()
    data.BitsStored, data.PixelRepresentation, data.PhotometricInterpretation = bits, signed, "MONOCHROME2"
    data.is_little_endian, data.is_implicit_VR = True, False
    return data


def samples(bits, signed):
    low = -(1 << (bits - 1)) if signed else 0
    return numpy.unique(numpy.linspace(low, low + (1 << bits) - 1, 61).round().astype(int))


def main():
    cases = []
    for bits, signed, slope, intercept, center, width, function in WINDOWS:
        data = dataset(bits, signed)
        data.RescaleSlope, data.RescaleIntercept = slope, intercept
        data.WindowCenter, data.WindowWidth, data.VOILUTFunction = center, width, function
        stored = samples(bits, signed)
        dtype = numpy.int16 if signed else numpy.uint16
        shown = apply_voi_lut(apply_modality_lut(stored.astype(dtype), data), data)
        low = (-(2 ** (bits - 1)) if signed else 0) * slope + intercept
        high = (2 ** (bits - 1) - 1 if signed else 2 ** bits - 1) * slope + intercept
        low, high = min(low, high), max(low, high)
        if slope < 0:  # pydicom takes the ends of its output range in the order of the stored values
            low, high = high, low
        cases.append({"bits": bits, "signed": bool(signed), "slope": slope, "intercept": intercept, "center": center, "width": width,
                      "function": function, "stored": stored.tolist(), "shown": ((shown - low) / (high - low)).round(9).tolist()})

    data = dataset(12, 0)
    item = Dataset()
    table = numpy.rint(1023 * (numpy.linspace(0, 1, 3000) ** 0.6)).astype(numpy.uint16)
    item.LUTDescriptor, item.LUTData = [3000, 500, 10], table.tolist()
    item["LUTDescriptor"].VR, item["LUTData"].VR = "US", "US"
    data.VOILUTSequence = [item]
    stored = samples(12, 0)
    shown = apply_voi_lut(stored.astype(numpy.uint16), data)
    cases.append({"bits": 12, "signed": False, "slope": 1, "intercept": 0, "table": {"first": 500, "bits": 10, "entries": table.tolist()},
                  "stored": stored.tolist(), "shown": (shown / 1023).round(9).tolist()})
    json.dump({"madeBy": "make_tables.py", "versions": {"pydicom": pydicom.__version__, "numpy": numpy.__version__}, "cases": cases}, sys.stdout)
    print()


if __name__ == "__main__":
    main()
