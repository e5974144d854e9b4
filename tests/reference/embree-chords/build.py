"""Lengths of rays within a lumpy closed mesh by Embree, another author's ray tracer.

Writes lump.stl (the mesh, binary STL, mm), chords.f32 (48 x 48 little-endian float32, mm) and VERSION beside this file.
Needs g++ and Debian's libembree-dev; the tests need only the files. usage: build.py
"""
import math
import pathlib
import struct
import subprocess
import tempfile

HERE = pathlib.Path(__file__).parent
AROUND, RINGS = 36, 18
ROWS = COLUMNS = 48
SPACING, CENTRE_COLUMN, CENTRE_ROW = 1.5, 22.4, 24.7
SOURCE = (80.0, -120.0, 1000.0)


def single(value):
    return struct.unpack("<f", struct.pack("<f", value))[0]


def point(theta, phi):
    radius = 24 + 4 * math.sin(3 * phi) * math.sin(theta) ** 3 + 5 * math.cos(4 * theta) + 2 * math.cos(2 * phi + 1) * math.sin(theta) ** 2
    x = radius * math.sin(theta) * math.cos(phi)
    y = radius * math.sin(theta) * math.sin(phi)
    z = radius * math.cos(theta)
    return tuple(single(v) for v in (x + 3, y - 2, 0.8 * z + 45))


def main():
    vertices = [point(0, 0)]
    for ring in range(1, RINGS):
        vertices += [point(math.pi * ring / RINGS, 2 * math.pi * part / AROUND) for part in range(AROUND)]
    vertices.append(point(math.pi, 0))
    last = len(vertices) - 1
    triangles = []
    for part in range(AROUND):
        following = (part + 1) % AROUND
        triangles.append((0, 1 + part, 1 + following))
        for ring in range(1, RINGS - 1):
            a, b = 1 + (ring - 1) * AROUND + part, 1 + (ring - 1) * AROUND + following
            c, d = a + AROUND, b + AROUND
            triangles += [(a, c, d), (a, d, b)]
        base = 1 + (RINGS - 2) * AROUND
        triangles.append((last, base + following, base + part))
    stl = bytearray(80) + struct.pack("<I", len(triangles))
    for corners in triangles:
        stl += bytes(12) + b"".join(struct.pack("<3f", *vertices[c]) for c in corners) + bytes(2)
    (HERE / "lump.stl").write_bytes(stl)
    with tempfile.TemporaryDirectory() as folder:
        mesh, program = pathlib.Path(folder, "mesh.bin"), pathlib.Path(folder, "chords")
        with mesh.open("wb") as file:
            file.write(struct.pack("<4i6d", ROWS, COLUMNS, len(vertices), len(triangles), SPACING, CENTRE_COLUMN, CENTRE_ROW, *SOURCE))
            file.write(b"".join(struct.pack("<3f", *v) for v in vertices))
            file.write(b"".join(struct.pack("<3i", *t) for t in triangles))
        subprocess.run(["g++", "-O2", "-std=c++17", "-o", program, HERE / "chords.cpp", "-lembree3", "-pthread"], check=True)
        subprocess.run([program, mesh, HERE / "chords.f32", "1"], check=True)
    version = subprocess.run(["dpkg-query", "-W", "-f", "${Package} ${Version}", "libembree3-3"], check=True, capture_output=True, text=True).stdout
    (HERE / "VERSION").write_text(f"Embree (Intel): {version}, Debian 12\n", encoding="utf-8")


if __name__ == "__main__":
    main()
