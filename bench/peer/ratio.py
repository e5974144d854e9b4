"""Prints both sides' times, one ratio for all sections, and Hotlight's times by size: ratio.py OURS.json PEER.json [SIZE.json ...]"""
import json
import sys

ours, peer, *sizes = (json.load(open(path, encoding="utf-8")) for path in sys.argv[1:])
versions = ", ".join(f"{name} {version}" for name, version in peer["versions"].items())
print(f"Hotlight: {ours['machine']}, peak {ours['peakMegabytes']:.0f} MB")
print(f"Libraries: {versions}, peak {peer['peakMegabytes']:.0f} MB")
print()
print("| libraries' step | median ms | least ms | processor ms |")
print("| --- | --- | --- | --- |")
for name, median in peer["medianMs"].items():
    print(f"| {name} | {median:.1f} | {peer['leastMs'][name]:.1f} | {peer['processorMs'][name]:.0f} |")
print()
print("| Hotlight's step | median ms | least ms | processor ms |")
print("| --- | --- | --- | --- |")
for name, median in ours["medianMs"].items():
    print(f"| {name.lstrip('· ')} | {median:.1f} | {ours['leastMs'][name]:.1f} | {ours['processorMs'][name]:.0f} |")
print()
whole = "read + measure"
print(f"All sections, read + measure: libraries {peer['medianMs'][whole]:.0f} ms, Hotlight {ours['medianMs'][whole]:.0f} ms, medians.")
print(f"Hotlight is **{peer['medianMs'][whole] / ours['medianMs'][whole]:.2f} times** as fast (goal: 3); by least times {peer['leastMs'][whole] / ours['leastMs'][whole]:.2f}.")
print(f"Processor time of all cores: libraries {peer['processorMs'][whole]:.0f} ms, Hotlight {ours['processorMs'][whole]:.0f} ms.")
if sizes:
    print()
    print("| megapixels | read + measure: median ms | least ms | least ms a megapixel | processor ms a megapixel | peak memory, MB |")
    print("| --- | --- | --- | --- | --- | --- |")
    for size in sizes:
        area = size["megapixels"]
        print(f"| {area:.0f} | {size['medianMs'][whole]:.0f} | {size['leastMs'][whole]:.0f} | {size['leastMs'][whole] / area:.1f} | {size['processorMs'][whole] / area:.1f} | {size['peakMegabytes']:.0f} |")
