"""Poses by other authors' solvers: scipy's least squares on the same function, and OpenCV's perspective-n-point on rigid points.

Reads cases.json (bench/pose cases FILE writes it), writes solved.json beside it. Needs numpy, scipy and OpenCV; the tests need only the files.

Function: for every marked point d2 = r' C^-1 r, r its projection less its mark in mm at the receptor, plus how far the person's shape moves
it (magnification times the sum over the case's ways of differing, s of each in either direction), C the mark's covariance plus what is left
of the point's spread between people, seen through the projection; cost = sum 7 log(1 + d2 / 5) + (p - p0)' P^-1 (p - p0) + s's. C and the
magnification are taken at the last solution and the search repeated until neither moves. Parameters p: turn, tilt, lean (radians), place of the centring point (mm),
logarithms of three sizes, plumb point of the source (mm), logarithm of its height over the expected, joints (radians).
Places at a setting of the joint: Krogh's interpolation through the tabled ones. Left sides are mirrored first.

Perspective-n-point: the points of a case, rigid and of the phantom's size at the joint's expected setting, are put into a pose and seen
by a camera that is the x-ray source; its image points, rounded to 0.001 pixels, are given to solvePnP (SOLVEPNP_ITERATIVE).
"""
import json
import pathlib

import cv2
import numpy
import scipy
from scipy.interpolate import KroghInterpolator
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

HERE = pathlib.Path(__file__).parent
HEIGHTS = {"wrist-lateral": (25, 45), "knee-lateral": (40, 80), "knee-ap": (40, 90), "chest-pa": (50, 200), "elbow-lateral": (30, 50), "ankle-lateral": (35, 65)}


def turned(turn, tilt, lean):
    return (Rotation.from_rotvec([0, 0, lean]) * Rotation.from_rotvec([tilt, 0, 0]) * Rotation.from_rotvec([0, -turn, 0])).as_matrix()


class Problem:
    def __init__(self, case):
        self.case = case
        sign = -1 if case["side"] == "L" else 1
        self.marks = numpy.array([[sign * (m["x"] - case["centralRay"][0]), m["y"] - case["centralRay"][1]] for m in case["marks"]]) * case["spacingMm"]
        self.own = (case["marks"][0]["uncertaintyPixels"] * case["spacingMm"]) ** 2
        self.spreads = numpy.array(case["spreads"])
        self.shape = numpy.array(case["shape"])
        self.orientation = numpy.array(case["orientation"]).reshape(3, 3)
        nodes = numpy.array(case["places"])
        self.table = KroghInterpolator(numpy.array(case["settings"][0]), nodes) if case["joints"] else (lambda _: nodes[0])
        low, high = HEIGHTS[case["projection"]]
        self.expected = numpy.array([0, 0, 0, 0, 0, (low + high) / 2, 0, 0, 0, 0, 0, 0] + [numpy.radians(j[0]) for j in case["joints"]])
        deviations = [numpy.radians(20), numpy.radians(20), numpy.radians(120), 200, 200, max(10, (high - low) / 2), 1, 1, 1, 10, 10, 0.01] + [numpy.radians(j[1]) for j in case["joints"]]
        prior = numpy.diag(numpy.square(deviations).astype(float))
        size, stretch = case["size"]
        prior[6:9, 6:9] = size ** 2 + numpy.eye(3) * stretch ** 2
        self.root = numpy.linalg.cholesky(numpy.linalg.inv(prior)).T

    def room(self, p):
        degrees = numpy.degrees(p[12]) if len(p) > 12 else 0
        at = numpy.asarray(self.table(degrees)).reshape(-1, 6)
        axes = turned(*p[:3]) @ self.orientation
        return (numpy.exp(p[6:9]) * at[:, :3]) @ axes.T + p[3:6], at[:, 3:] @ axes.T

    def off(self, p):
        room, _ = self.room(p)
        height = self.case["sourceImageDistanceMm"] * numpy.exp(p[11])
        larger = height / (height - room[:, 2])
        return p[9:11] + (room[:, :2] - p[9:11]) * larger[:, None] - self.marks

    def covariances(self, p):
        """Of each point's own part, and its magnification."""
        room, along = self.room(p)
        height = self.case["sourceImageDistanceMm"] * numpy.exp(p[11])
        larger = height / (height - room[:, 2])
        result = []
        for i in range(len(room)):
            slant = (room[i, :2] - p[9:11]) * larger[i] / (height - room[i, 2])
            to_image = numpy.array([[larger[i], 0, slant[0]], [0, larger[i], slant[1]]])
            across = self.spreads[i, 0] ** 2 - (self.shape[i] ** 2).sum()
            spread = numpy.diag([across, across, self.spreads[i, 0] ** 2]) + self.spreads[i, 1] ** 2 * numpy.outer(along[i], along[i])
            result.append(self.own * numpy.eye(2) + to_image @ spread @ to_image.T)
        return numpy.array(result), larger

    def residuals(self, q, inverse, larger):
        p, ways = q[:len(self.expected)], q[len(self.expected):].reshape(2, -1)
        off = self.off(p) + larger[:, None] * (self.shape @ ways.T)
        squared = numpy.einsum("ni,nij,nj->n", off, inverse, off)
        return numpy.concatenate([numpy.sqrt(7 * numpy.log1p(squared / 5)), self.root @ (p - self.expected), ways.ravel()])

    def solve(self, start):
        q = numpy.concatenate([start, numpy.zeros(2 * self.shape.shape[1])])
        scale = numpy.concatenate([numpy.abs(1 / numpy.diag(self.root)), numpy.ones(len(q) - len(start))])
        for _ in range(80):
            own, larger = self.covariances(q[:len(start)])
            found = least_squares(self.residuals, q, args=(numpy.linalg.inv(own), larger), x_scale=scale, xtol=1e-10, ftol=1e-10, gtol=1e-10, max_nfev=60)
            moved = numpy.abs(found.x - q).max()
            q = found.x
            if moved < 2e-6:
                break
        return q[:len(start)], 2 * found.cost


def start(problem):
    """Lean, place and size by the best turn of the flat picture."""
    p = problem.expected.copy()
    at = problem.off(p) + problem.marks
    a, b = at - at.mean(axis=0), problem.marks - problem.marks.mean(axis=0)
    p[2] = numpy.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum())
    p[3:5] += (problem.marks - problem.off(p) - problem.marks).mean(axis=0)
    return p


def rigid(case, pose):
    """A pose of rigid points by perspective-n-point: camera at the source, looking down at the receptor."""
    problem = Problem(case)
    p = problem.expected.copy()
    p[:6] = pose
    joint = case["joints"][0][0] if case["joints"] else 0
    body = numpy.asarray(problem.table(joint)).reshape(-1, 6)[:, :3]
    room, _ = problem.room(p)
    height, spacing, ray = case["sourceImageDistanceMm"], case["spacingMm"], case["centralRay"]
    larger = height / (height - room[:, 2])
    pixels = numpy.round(room[:, :2] * larger[:, None] / spacing + ray, 3)
    camera = numpy.array([[height / spacing, 0, ray[0]], [0, height / spacing, ray[1]], [0, 0, 1]])

    # The camera's z runs away from the source, the room's towards it: x right, y down and that z are left-handed, as the camera's are not.
    # A part whose own frame is left-handed is mirrored first.
    flip = numpy.diag([1.0, 1.0, -1.0])
    own = flip if numpy.linalg.det(problem.orientation) > 0 else numpy.eye(3)
    ok, rotation, shift = cv2.solvePnP((body @ own).astype(numpy.float64), pixels, camera, None, flags=cv2.SOLVEPNP_ITERATIVE)
    assert ok
    axes = flip @ cv2.Rodrigues(rotation)[0] @ own
    askew = axes @ problem.orientation.T
    tilt = numpy.arcsin(askew[2, 1])
    turn = numpy.arctan2(askew[2, 0], askew[2, 2])
    lean = numpy.arctan2(-askew[0, 1], askew[1, 1])
    centre = flip @ shift.ravel()
    return pixels, [float(numpy.degrees(v)) for v in (turn, tilt, lean)], [float(centre[0]), float(centre[1]), float(height + centre[2])]


def main():
    cases = json.loads((HERE / "cases.json").read_text())["cases"]
    solved, poses = [], []
    random = numpy.random.default_rng(5)
    for index, case in enumerate(cases):
        problem = Problem(case)
        best = None
        for turn, tilt in ((0, 0), (-18, 18), (18, -18)):
            p = start(problem)
            p[0], p[1] = numpy.radians(turn), numpy.radians(tilt)
            p, cost = problem.solve(p)
            if best is None or cost < best[1]:
                best = (p, cost)
        p, cost = best
        solved.append({"case": index, "projection": case["projection"], "parameters": [round(float(v), 8) for v in p], "cost": round(float(cost), 6)})
        print(case["projection"], numpy.degrees(p[:3]).round(2), round(cost, 3), flush=True)
        pose = numpy.concatenate([numpy.radians(random.uniform(-20, 20, 3)), random.uniform(-20, 20, 2), [problem.expected[5]]])
        pixels, angles, centre = rigid(case, pose)
        poses.append({"case": index, "projection": case["projection"], "points": [m["id"] for m in case["marks"]], "pixels": pixels.tolist(), "turnTiltLeanDegrees": [round(v, 5) for v in angles], "centreMm": [round(v, 4) for v in centre], "setDegrees": [round(float(v), 5) for v in numpy.degrees(pose[:3])]})
    (HERE / "solved.json").write_text(json.dumps({"scipy": scipy.__version__, "opencv": cv2.__version__, "numpy": numpy.__version__, "leastSquares": solved, "perspective": poses}, indent=1) + "\n")


main()
