"""Open bone meshes of the shared data (../shared/data/bones beside the checkout, or HOTLIGHT_DATA): sources and licences stand in its SOURCES.tsv."""
import os
import pathlib

import numpy

ROOT = pathlib.Path(__file__).resolve().parents[3]
FOLDER = pathlib.Path(os.environ.get("HOTLIGHT_DATA", ROOT.parent / "shared" / "data")) / "bones"


def triangles(file):
    """Corners of an STL file's triangles: n by 3 by 3, in the file's unit."""
    data = (FOLDER / file).read_bytes()
    if data[:5] == b"solid" and b"facet" in data[:400]:
        return numpy.array([[float(v) for v in line.split()[1:]] for line in data.decode().splitlines() if line.strip().startswith("vertex")]).reshape(-1, 3, 3)
    count = int.from_bytes(data[80:84], "little")
    return numpy.frombuffer(data, dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")], count=count, offset=84)["corners"].astype(float)
