"""The scatter kernel as a sum of Gaussians, from the slabs.

Reads ../raw/slabs.tsv and writes ../kernel.tsv: thickness in mm, energy in keV, air gap in mm, and the scatter-to-primary
ratio that each of seven round Gaussians carries, of standard deviation 3, 8, 18, 40, 85, 180 and 360 mm in the plane of the receptor.
A field of radius R gets 1 - exp(-R^2 / (2 sigma^2)) of each. Non-negative least squares of the relative error.
Where fewer than 1500 histories got through scattered (low energies behind thick water), the next higher energy's row stands.
Needs numpy and scipy.
"""
import pathlib

import numpy
from scipy.optimize import nnls

SIGMAS = numpy.array([3, 8, 18, 40, 85, 180, 360.0])


def main():
    here = pathlib.Path(__file__).resolve().parent.parent
    lines = (here / "raw" / "slabs.tsv").read_text().splitlines()[1:]
    radii = numpy.array([float(name[len("within_"):]) for name in lines[0].split("\t")[3:]])
    basis = 1 - numpy.exp(-radii[:, None] ** 2 / (2 * SIGMAS ** 2))
    out = ["thickness_mm\tenergy_kev\tgap_mm\t" + "\t".join(f"sigma_{sigma:g}" for sigma in SIGMAS)]
    histories = float((here / "raw" / "slabs.tsv").read_text().split()[1])
    attenuation = {20: 0.08096, 25: 0.0508, 30: 0.03756, 40: 0.02683}
    worst = 0
    kept = {}
    for line in reversed(lines[1:]):
        cells = line.split("\t")
        thickness, energy = float(cells[0]), int(cells[1])
        ratio = numpy.array([float(cell) for cell in cells[3:]])
        counted = ratio[-1] * histories * numpy.exp(-attenuation.get(energy, 0.02) * thickness)
        if counted >= 1500:
            scale = 1 / (ratio + 0.02 * ratio[-1])
            weights, _ = nnls(numpy.vstack([basis * scale[:, None], 1e-3 * numpy.eye(len(SIGMAS))]), numpy.append(ratio * scale, numpy.zeros(len(SIGMAS))), maxiter=5000)
            used = radii >= 50
            worst = max(worst, float(numpy.max(numpy.abs(basis @ weights - ratio)[used] / ratio[-1])))
            kept[cells[0], cells[2]] = weights
        weights = kept[cells[0], cells[2]]
        out.insert(1, "\t".join(cells[:3]) + "\t" + "\t".join(f"{weight:.4g}" for weight in weights))
    (here / "kernel.tsv").write_text("\n".join(out) + "\n")
    print(f"largest misfit from 50 mm up: {worst:.4f} of the whole ratio")


main()
