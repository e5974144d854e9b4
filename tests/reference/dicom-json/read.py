#!/usr/bin/env python3
"""Reads written.json, a data set in the DICOM JSON model as Hotlight writes it, with pydicom and stores what pydicom understood.

python3 tests/reference/dicom-json/read.py > tests/reference/dicom-json/understood.json
written.json is written by DicomJsonTests when HOTLIGHT_WRITE_REFERENCE is set; the test compares both files with the data set.
"""
import json
import os
import sys

import pydicom

here = os.path.dirname(os.path.abspath(__file__))
dataset = pydicom.Dataset.from_json(open(os.path.join(here, "written.json"), encoding="utf-8").read(), bulk_data_uri_handler=lambda tag, vr, uri: b"")


def plain(element):
    if element.VR == "SQ":
        return [{item.tag.__str__(): plain(item) for item in each} for each in element.value]
    if isinstance(element.value, bytes):
        return element.value.hex()
    if element.value is None or element.value == "":
        return None
    if element.VM > 1:
        return [str(value) for value in element.value]
    return str(element.value)


json.dump({"pydicom": pydicom.__version__, "read": {str(each.tag): [each.VR, plain(each)] for each in dataset}}, sys.stdout, indent=1, ensure_ascii=False)
print()
