#!/usr/bin/env python3
"""Compares what another author's program (gdcmanon of GDCM) and Hotlight do with each attribute of the same files.

openssl req -x509 -newkey rsa:2048 -nodes -keyout key.pem -out certificate.pem -days 2 -subj /CN=test
python3 tests/reference/gdcmanon/compare.py certificate.pem FOLDER [OPTIONS]    # OPTIONS of hotlight deidentify --keep; default: nothing
Needs gdcmanon (Debian libgdcm-tools), python3-pydicom and ./hotlight. Prints attributes by (what gdcmanon did, what Hotlight did). The result over the open radiographs stands in docs/methods/privacy.md.
"""
import collections
import os
import subprocess
import sys
import tempfile

import pydicom

certificate, folder = sys.argv[1:3]
keep = sys.argv[3] if len(sys.argv) > 3 else "nothing"
hotlight = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "..", "hotlight")


def action(element, dataset):
    if element.tag not in dataset:
        return "removed"
    other = dataset[element.tag]
    if other.is_empty:
        return "emptied"
    if element.VR == "SQ":
        return "kept" if other == element else "opened"
    return "kept" if str(other.value) == str(element.value) else "replaced"


counts = collections.Counter()
names = collections.defaultdict(set)
with tempfile.TemporaryDirectory() as scratch:
    for name in sorted(os.listdir(folder)):
        source = os.path.join(folder, name)
        theirs, ours = (os.path.join(scratch, side + name) for side in ("theirs-", "ours-"))
        done = [subprocess.run(call, capture_output=True, check=False).returncode == 0 and os.path.exists(call[-1])
                for call in (["gdcmanon", "-c", certificate, "-e", source, theirs], [hotlight, "deidentify", "--keep", keep, "--pixels", "leave", source, ours])]
        if not all(done):
            print(f"# {name}: gdcmanon {'done' if done[0] else 'refused'}, Hotlight {'done' if done[1] else 'refused'}")
            continue
        before, other, own = (pydicom.dcmread(path, force=True, stop_before_pixels=True) for path in (source, theirs, ours))
        for element in before:
            if element.tag.element == 0 or element.is_empty:
                continue
            pair = (action(element, other), action(element, own))
            counts[pair] += 1
            names[pair].add("private" if element.tag.is_private else element.keyword or str(element.tag))
for pair, count in counts.most_common():
    print(*pair, count, " ".join(sorted(names[pair])) if pair[0] != pair[1] else "", sep="\t")
