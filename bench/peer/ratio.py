"""Prints the times of both sides and their ratio as a Markdown table: ratio.py OURS.json PEER.json"""
import json
import sys

ours = json.load(open(sys.argv[1], encoding="utf-8"))
peer = json.load(open(sys.argv[2], encoding="utf-8"))
STEPS = [
    ("read", ["· read"], ["read"]),
    ("field, anatomy, collimation", ["· · field, anatomy, collimation"], ["field", "anatomy"]),
    ("mottle", ["· · mottle"], ["mottle"]),
    ("histogram, clipping, display", ["· · histogram", "· · clipping", "· · display"], ["clipping and display"]),
    ("read + measure", ["read + measure"], ["read + measure"]),
]
print(f"Hotlight: {ours['machine']}, peak {ours['peakMegabytes']:.0f} MB")
versions = ", ".join(f"{name} {version}" for name, version in peer["versions"].items())
print(f"Libraries: {versions}, peak {peer['peakMegabytes']:.0f} MB")
print()
print("| step | Hotlight, median ms | libraries, median ms | Hotlight / libraries | Hotlight, processor ms |")
print("| --- | --- | --- | --- | --- |")
for name, mine, theirs in STEPS:
    own = sum(ours["medianMs"][step] for step in mine)
    other = sum(peer["medianMs"][step] for step in theirs)
    processor = sum(ours["processorMs"][step] for step in mine)
    print(f"| {name} | {own:.1f} | {other:.1f} | {own / other:.2f} | {processor:.0f} |")
