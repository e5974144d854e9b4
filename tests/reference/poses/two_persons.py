"""How far the same bone of two persons differs: one laid over the other with one size (iterated closest points), mean and root mean square of
the distance of surface points to the other surface, and how alike the signed distances of two places are by the distance of the places.

Reads the meshes that meshes.py names, writes two-persons.json beside it. Needs numpy and scipy.
"""
import json
import pathlib

import numpy
import scipy
from scipy.spatial import cKDTree

from meshes import triangles

HERE = pathlib.Path(__file__).parent
POINTS = 6000
ROUNDS = 60
STEP = 5


def surface(file, seed=1):
    corners = triangles(file)
    normals = numpy.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    areas = numpy.linalg.norm(normals, axis=1)
    random = numpy.random.default_rng(seed)
    chosen = random.choice(len(corners), POINTS, p=areas / areas.sum())
    share = random.random((POINTS, 2))
    share = numpy.where(share.sum(1, keepdims=True) > 1, 1 - share, share)
    at = corners[chosen]
    return at[:, 0] + share[:, :1] * (at[:, 1] - at[:, 0]) + share[:, 1:] * (at[:, 2] - at[:, 0]), normals[chosen] / areas[chosen, None]


def similar(a, b):
    """Size, turn and shift that bring a nearest to b (Umeyama 1991)."""
    middle_a, middle_b = a.mean(0), b.mean(0)
    u, s, v = numpy.linalg.svd((b - middle_b).T @ (a - middle_a))
    sign = numpy.diag([1, 1, numpy.sign(numpy.linalg.det(u @ v))])
    turn = u @ sign @ v
    size = (s * numpy.diag(sign)).sum() / ((a - middle_a) ** 2).sum()
    return size, turn, middle_b - size * turn @ middle_a


def laid_over(a, b):
    tree, best = cKDTree(b), None
    own, other = a - a.mean(0), b - b.mean(0)
    axes_a, axes_b = numpy.linalg.svd(own, full_matrices=False)[2], numpy.linalg.svd(other, full_matrices=False)[2]
    for signs in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        turn = axes_b.T @ numpy.diag([*signs, 1.0]) @ axes_a
        if numpy.linalg.det(turn) < 0:
            turn = axes_b.T @ numpy.diag([*signs, -1.0]) @ axes_a
        size = numpy.sqrt((other ** 2).sum() / (own ** 2).sum())
        shift = b.mean(0) - size * turn @ a.mean(0)
        for _ in range(ROUNDS):
            _, nearest = tree.query((size * (turn @ a.T)).T + shift)
            size, turn, shift = similar(a, b[nearest])
        moved = (size * (turn @ a.T)).T + shift
        distance, nearest = tree.query(moved)
        if best is None or distance.mean() < best[0].mean():
            best = distance, size, moved, nearest
    return best


def main():
    result = {}
    for bone in ("talus", "calcaneous", "fibula", "patella"):
        (a, _), (b, normals) = surface(f"vhf_right_{bone}.stl"), surface(f"vhm_right_{bone}.stl")
        distance, size, moved, nearest = laid_over(a, b)
        signed = ((moved - b[nearest]) * normals[nearest]).sum(1)
        random = numpy.random.default_rng(2)
        one, other = random.integers(0, POINTS, 400_000), random.integers(0, POINTS, 400_000)
        apart = numpy.linalg.norm(moved[one] - moved[other], axis=1)
        facing = (normals[nearest[one]] * normals[nearest[other]]).sum(1)
        alike = []
        for low in range(0, 40, STEP):
            chosen = (numpy.abs(facing) > 0.7) & (apart >= low) & (apart < low + STEP)
            alike.append(round(float((signed[one[chosen]] * signed[other[chosen]] * numpy.sign(facing[chosen])).mean() / signed.var()), 2))
        result[bone] = {"size": round(float(size), 3), "meanMm": round(float(distance.mean()), 2), "rootMeanSquareMm": round(float(numpy.sqrt((distance ** 2).mean())), 2), "signedMm": round(float(signed.std()), 2), "correlationBy5Mm": alike}
        print(bone, result[bone], flush=True)
    (HERE / "two-persons.json").write_text(json.dumps({"numpy": numpy.__version__, "scipy": scipy.__version__, "bones": result}, indent=1) + "\n")


main()
