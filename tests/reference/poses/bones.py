"""Landmarks of a real ankle, found on open bone meshes of one person by rule, and how they lie to the phantom's.

Reads the meshes that meshes.py names and data/poses, writes bones.json beside it. Needs numpy and scipy.

Frame: y along the tibial shaft (middles of its cuts 45 and 150 mm above its lowest point), x square to it, to the inner malleolus and
17.4 degrees behind the line of the two tips of the malleoli, as in the phantom's own frame of the ankle, z to the toes. The person lay with a hanging foot: the foot's bones are turned as one about x, 20 mm under the
top of the talus, until the line from the lowest point of the heel to the base of the fifth metatarsal rises by 9 degrees, as the phantom's.

Zero of the poses, in two ways that know nothing of a projection: "axes", the frame turned by the phantom's own 16 degrees between its foot and
its ankle; "overlay", the turn, size and shift that lay the person's landmarks nearest to the phantom's in space (Umeyama 1991), the
phantom's foot bent as lies nearest and points free to slide where the model lets them. The overlay of the points of an ankle from the front,
leg and talus, is the one that the trial takes for all: the foot hung, and how it lies to the leg is nobody's zero.
"""
import json
import pathlib

import numpy
from scipy.interpolate import KroghInterpolator
from scipy.optimize import minimize_scalar
from scipy.spatial.transform import Rotation

from meshes import ROOT, triangles

HERE = pathlib.Path(__file__).parent
MORTISE = 16
TIPS = 17.4
FILES = {"tibia": "vhf_right_tibia.stl", "fibula": "vhf_right_fibula.stl", "talus": "vhf_right_talus.stl", "calcaneus": "vhf_right_calcaneous.stl", "navicular": "vhf_right_navicular.stl", "forefoot": "vhf_right_phalanges.stl"}
FOOT = ("talus", "calcaneus", "navicular", "forefoot")

# In the files x goes outwards for this right leg, y forwards, z upwards.
FROM_FILE = numpy.array([[-1.0, 0, 0], [0, 0, 1], [0, 1, 0]])


def cut(corners, value, axis=1):
    """Where a mesh's edges cross a plane."""
    found = []
    for i in range(3):
        a, b = corners[:, i], corners[:, (i + 1) % 3]
        da, db = a[:, axis] - value, b[:, axis] - value
        crossed = da * db < 0
        found.append(a[crossed] + (b[crossed] - a[crossed]) * (da[crossed] / (da[crossed] - db[crossed]))[:, None])
    return numpy.vstack(found)


def middle(corners, height):
    points = cut(corners, height)
    return 0.5 * (points.min(0) + points.max(0))


def extreme(points, *direction):
    return points[(points @ numpy.array(direction, float)).argmax()]


def leg_frame(bones):
    turn, origin = numpy.eye(3), middle(bones["tibia"], bones["tibia"][..., 1].min() + 20)
    for _ in range(8):
        at = {name: (bones[name] - origin) @ turn.T for name in ("tibia", "fibula")}
        low = at["tibia"][..., 1].min()
        y = middle(at["tibia"], low + 150) - middle(at["tibia"], low + 45)
        y /= numpy.linalg.norm(y)
        x = extreme(at["tibia"].reshape(-1, 3), 0, -1, 0) - extreme(at["fibula"].reshape(-1, 3), 0, -1, 0)
        x -= y * (x @ y)
        x /= numpy.linalg.norm(x)
        turn = numpy.stack([x, y, numpy.cross(x, y)]) @ turn
    return Rotation.from_euler("y", -TIPS, degrees=True).as_matrix() @ turn, origin


def landmarks(bones):
    """Name: bone, place; by rules that follow the words of the points (data/poses, data/catalogue/ankle)."""
    at = {name: corners.reshape(-1, 3) for name, corners in bones.items()}
    talus, tibia = at["talus"], at["tibia"]
    top = talus[:, 1].max()
    edge = cut(bones["talus"], top - 8)
    edge = edge[numpy.abs(edge[:, 2] - 0.5 * (edge[:, 2].min() + edge[:, 2].max())) < 6]
    left, right = edge[edge[:, 0].argmin()], edge[edge[:, 0].argmax()]
    found = {"talus-outer": ("talus", left), "talus-inner": ("talus", right)}

    # The dome's two edges, 0.38 of its width from its middle: the phantom's 11.5 of 30 mm.
    for name, share in (("outer", -0.38), ("inner", 0.38)):
        x = 0.5 * (left[0] + right[0]) + share * (right[0] - left[0])
        profile = cut(bones["talus"], x, 0)
        found[f"{name}-dome-top"] = ("talus", extreme(profile, 0, 1, 0))
        height = found[f"{name}-dome-top"][1][1] - 8
        back = profile[numpy.abs(profile[:, 1] - height) < 0.7]
        found[f"{name}-dome-back"] = ("talus", extreme(back, 0, 0, -1))
    found["dome-top"] = ("", 0.5 * (found["outer-dome-top"][1] + found["inner-dome-top"][1]))

    centre = 0.5 * (left[0] + right[0])
    profile = cut(bones["tibia"], centre, 0)
    profile = profile[profile[:, 1] < top + 25]
    found["plafond-front"] = ("tibia", extreme(profile, 0, -1, 1))
    found["plafond-back"] = ("tibia", extreme(profile, 0, -1, -1))
    ends = []
    for x in (centre - 10, centre + 10):
        profile = cut(bones["tibia"], x, 0)
        z = 0.5 * (found["plafond-front"][1][2] + found["plafond-back"][1][2])
        ends.append(extreme(profile[(numpy.abs(profile[:, 2] - z) < 1.5) & (profile[:, 1] < top + 12)], 0, -1, 0))
    found["plafond"] = ("", 0.5 * (ends[0] + ends[1]))
    joint = found["plafond"][1][1]
    for name, height in (("tibia-near", 30), ("tibia-middle", 30), ("tibia-far", 72)):
        found[name] = ("", middle(bones["tibia"], joint + height))
    for name, height in (("fibula-middle", 30), ("fibular-shaft", 72)):
        found[name] = ("", middle(bones["fibula"], joint + height))
    above = cut(bones["tibia"], joint + 8)
    front = above[above[:, 2] > 0.5 * (above[:, 2].min() + above[:, 2].max())]
    found["tibia-outer"] = ("tibia", extreme(front, -1, 0, 0.5))
    found["fibula-inner"] = ("fibula", extreme(cut(bones["fibula"], joint + 10), 1, 0, 0))

    # The groove's floor: the innermost place of the outer side between its two lips.
    level = cut(bones["tibia"], joint + 10)
    outer = level[level[:, 0] < level[:, 0].min() + 12]
    lips = sorted((extreme(outer[outer[:, 2] > outer[:, 2].mean()], -1, 0, 0)[2], extreme(outer[outer[:, 2] <= outer[:, 2].mean()], -1, 0, 0)[2]))
    steps = numpy.linspace(lips[0], lips[1], 21)[3:-3]
    floor = [extreme(level[numpy.abs(level[:, 2] - z) < 1], -1, 0, 0) for z in steps if (numpy.abs(level[:, 2] - z) < 1).any()]
    found["incisura"] = ("tibia", max(floor, key=lambda place: place[0]))
    found["inner-malleolus"] = ("tibia", extreme(tibia, 0, -1, 0))
    found["outer-malleolus"] = ("fibula", extreme(at["fibula"], 0, -1, 0))
    half = cut(bones["tibia"], top - 8)
    found["inner-face"] = ("tibia", extreme(half, -1, 0, 0))
    half = cut(bones["fibula"], top - 8)
    found["malleolus-face"] = ("fibula", extreme(half, 1, 0, 0))
    found["heel-low"] = ("calcaneus", extreme(at["calcaneus"], 0, -1, 0))
    found["heel-back"] = ("calcaneus", extreme(at["calcaneus"], 0, 0, -1))
    found["navicular"] = ("", 0.5 * (at["navicular"].min(0) + at["navicular"].max(0)))
    found["fifth-base"] = ("forefoot", fifth_base(at["forefoot"]))
    return found


def fifth_base(forefoot):
    return extreme(forefoot, -0.5, 0, -1)


def leaned(points, hinge, degrees):
    return (points - hinge) @ Rotation.from_euler("x", -degrees, degrees=True).as_matrix().T + hinge


def similar(a, b):
    """Size, turn and shift that bring a nearest to b (Umeyama 1991)."""
    middle_a, middle_b = a.mean(0), b.mean(0)
    u, s, v = numpy.linalg.svd((b - middle_b).T @ (a - middle_a))
    sign = numpy.diag([1, 1, numpy.sign(numpy.linalg.det(u @ v))])
    turn = u @ sign @ v
    size = (s * numpy.diag(sign)).sum() / ((a - middle_a) ** 2).sum()
    return size, turn, middle_b - size * turn @ middle_a


def phantom(projection):
    """The phantom's points by the foot's bend, from the view's centring point, in the part's frame."""
    kept = json.loads((ROOT / "data" / "poses" / "places" / f"{projection}.json").read_text())
    low, high = kept["minimum"][0], kept["maximum"][0]
    nodes = numpy.array(kept["places"]).reshape(5, -1, 6)
    settings = [(low + high) / 2 - (high - low) / 2 * numpy.cos(numpy.pi * (node + 0.5) / 5) for node in range(5)]
    return [point.split(":")[0] for point in kept["points"]], KroghInterpolator(settings, nodes), low, high


def main():
    files = {name: triangles(file) for name, file in FILES.items()}
    turned = {name: corners @ FROM_FILE.T for name, corners in files.items()}
    turn, origin = leg_frame(turned)
    bones = {name: (corners - origin) @ turn.T for name, corners in turned.items()}
    talus = bones["talus"].reshape(-1, 3)
    hinge = extreme(talus, 0, 1, 0) - [0, 20, 0]

    def rise(degrees):
        heel = extreme(leaned(bones["calcaneus"].reshape(-1, 3), hinge, degrees), 0, -1, 0)
        base = fifth_base(leaned(bones["forefoot"].reshape(-1, 3), hinge, degrees))
        return numpy.degrees(numpy.arctan2(base[1] - heel[1], base[2] - heel[2]))

    bend = min(numpy.arange(0, 45.1, 0.5), key=lambda degrees: abs(rise(degrees) - 9))
    posed = {name: leaned(corners, hinge, bend) if name in FOOT else corners for name, corners in bones.items()}
    found = landmarks(posed)
    back = {}
    for name, (bone, place) in found.items():
        local = leaned(place, hinge, -bend) if bone in FOOT else place
        back[name] = {"bone": bone or None, "frameMm": [round(float(v), 3) for v in place], "fileMm": [round(float(v), 3) for v in (local @ turn + origin) @ FROM_FILE] if bone else None}
    result = {"files": FILES, "footBroughtUpDegrees": float(bend), "landmarks": back, "projections": {}}
    axes = Rotation.from_euler("y", -MORTISE, degrees=True).as_matrix()
    for projection in ("ankle-lateral", "ankle-ap", "ankle-mortise"):
        names, places, low, high = phantom(projection)
        own = numpy.array([found[name][1] for name in names])

        def off(degrees):
            there, along = numpy.split(numpy.asarray(places(degrees)), 2, axis=1)
            goal = there
            for _ in range(40):
                size, rotation, shift = similar(own, goal)
                apart = size * own @ rotation.T + shift - there
                slid = (apart * along).sum(1, keepdims=True) * along
                goal = there + slid
            return apart - slid, size, rotation

        degrees = minimize_scalar(lambda value: (off(value)[0] ** 2).sum(), bounds=(low, high), method="bounded").x
        apart, size, rotation = off(degrees)
        between = Rotation.from_matrix(rotation @ axes.T).as_rotvec(degrees=True)
        result["projections"][projection] = {
            "overlay": rotation.round(6).tolist(), "axes": axes.round(6).tolist(), "overlayBendDegrees": round(float(degrees), 2), "phantomOverPersonSize": round(float(size), 4),
            "overlayFromAxesDegrees": [round(float(v), 2) for v in between],
            "rootMeanSquareMmEachDirection": round(float(numpy.sqrt((apart ** 2).mean())), 2),
            "apartMm": {name: [round(float(v), 1) for v in row] for name, row in zip(names, apart)}}
        print(projection, {k: v for k, v in result["projections"][projection].items() if k not in ("overlay", "axes")}, flush=True)
    (HERE / "bones.json").write_text(json.dumps(result, indent=1) + "\n")


main()
