#!/usr/bin/env python3
"""Makes dictionary.tsv from the data dictionary file that DCMTK ships (libdcmtk17, dicom.dic: PS3.6 chapters 6 to 9 in that package's words).

python3 data/dicom/make-dictionary.py /usr/share/libdcmtk17/dicom.dic > data/dicom/dictionary.tsv
Value representations that depend on other attributes become the first of theirs: ox OW, xs US, lt OW, up UL; na is left out.
"""
import re
import sys

VRS = {"ox": "OW", "xs": "US", "lt": "OW", "up": "UL", "px": "OW"}
rows = {}
for line in open(sys.argv[1], encoding="ascii"):
    if line.startswith("#") or not line.strip():
        continue
    tag, vr, keyword, _, version = line.rstrip("\n").split("\t")[:5]
    found = re.fullmatch(r"\(([0-9a-fA-F]{4}),([0-9a-fA-F]{4})\)", tag)
    if vr == "na" or not version.startswith("DICOM"):
        continue
    if found:
        rows.setdefault((found[1] + found[2]).upper(), (VRS.get(vr, vr), keyword.removeprefix("RETIRED_")))
    else:
        repeated = re.fullmatch(r"\((50|60)00-\1[fF]{2},([0-9a-fA-F]{4})\)", tag)
        if repeated:
            rows.setdefault(repeated[1] + "XX" + repeated[2].upper(), (VRS.get(vr, vr), keyword.removeprefix("RETIRED_")))
print("# tag\tvr\tkeyword\tPS3.6 as DCMTK 3.6.7 ships it (dicom.dic); made by make-dictionary.py")
for tag in sorted(rows):
    print(tag, *rows[tag], sep="\t")
