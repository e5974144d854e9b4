"""Scatter behind slabs of water, by Monte Carlo.

A thin beam of photons of one energy meets a slab of water without sides. Every photon is followed through photoelectric
absorption, coherent and incoherent scattering until it is absorbed or leaves. Those that leave on the far side after
scattering are counted with their energy on planes behind the slab, by distance from the beam.

Writes ../raw/slabs.tsv: thickness in mm, energy in keV, air gap in mm, then for each radius in mm the energy that arrives within
it, over the energy of the primary photons that get through (known in closed form). By reciprocity this is the
scatter-to-primary ratio at the centre of a round field of that radius (parallel beam, receptor that absorbs all energy).
Also writes ../raw/backscatter.tsv: photons that leave on the near side within a radius, as air kerma over that of the
incident beam: the backscatter factor less 1 at the centre of a round field of that radius.

Cross-sections and angles: xraylib (python3-xraylib), water as free atoms; no Doppler broadening, no interference between
molecules. Needs numpy and numba. Takes about ten minutes; the seed is fixed.
"""
import pathlib
import sys

import numba
import numpy
import xraylib

THICKNESSES = [10, 20, 40, 60, 80, 100, 150, 200, 250, 300, 400]
ENERGIES = [20, 25, 30, 40, 50, 60, 80, 100, 120, 150]
GAPS = [0, 20, 50, 100, 200, 300]
RADII = [5, 10, 15, 20, 30, 40, 50, 70, 90, 110, 140, 170, 200, 250, 300, 400]
HISTORIES = int(sys.argv[1]) if len(sys.argv) > 1 else 1_500_000
GRID = numpy.arange(1, 151)
ANGLES = 512
WATER = "H2O"


def known(cross_section, substance, energy, angle):
    """A differential cross-section; 0 at the smallest angles, where xraylib's tables end and the solid angle vanishes."""
    try:
        return cross_section(substance, float(energy), float(angle))
    except ValueError:
        return 0.0


def tables():
    """Linear attenuation by kind per mm, and the inverse of the distribution of the cosine of the angle, for each keV."""
    photo, coherent, incoherent = (numpy.array([f(WATER, float(e)) for e in GRID]) / 10
                                   for f in (xraylib.CS_Photo_CP, xraylib.CS_Rayl_CP, xraylib.CS_Compt_CP))
    theta = numpy.linspace(0, numpy.pi, 2001)
    quantiles = numpy.linspace(0, 1, ANGLES)
    inverse = numpy.empty((2, len(GRID), ANGLES))
    for kind, f in enumerate((xraylib.DCS_Rayl_CP, xraylib.DCS_Compt_CP)):
        for k, energy in enumerate(GRID):
            density = numpy.array([known(f, WATER, energy, angle) for angle in theta]) * numpy.sin(theta)
            cumulative = numpy.concatenate([[0], numpy.cumsum((density[1:] + density[:-1]) / 2)])
            inverse[kind, k] = numpy.cos(numpy.interp(quantiles * cumulative[-1], cumulative, theta))
    return photo, coherent, incoherent, inverse


@numba.njit(cache=True)
def follow(histories, seed, energy0, thickness, photo, coherent, incoherent, inverse, gaps, radii, kerma, forward, back):
    numpy.random.seed(seed)
    for _ in range(histories):
        x, y, z = 0.0, 0.0, 0.0
        u, v, w = 0.0, 0.0, 1.0
        energy = energy0
        scattered = False
        while True:
            place = energy - 1.0
            k = min(int(place), len(photo) - 2)
            share = place - k
            m_p = photo[k] * (1 - share) + photo[k + 1] * share
            m_c = coherent[k] * (1 - share) + coherent[k + 1] * share
            m_i = incoherent[k] * (1 - share) + incoherent[k + 1] * share
            total = m_p + m_c + m_i
            step = -numpy.log(1.0 - numpy.random.random()) / total
            z_next = z + w * step
            if z_next >= thickness or z_next <= 0:
                if scattered and z_next >= thickness:
                    for g in range(len(gaps)):
                        distance = (thickness + gaps[g] - z) / w
                        r = numpy.sqrt((x + u * distance) ** 2 + (y + v * distance) ** 2)
                        for n in range(len(radii)):
                            if r <= radii[n]:
                                forward[g, n] += energy
                elif scattered:
                    distance = -z / w
                    r = numpy.sqrt((x + u * distance) ** 2 + (y + v * distance) ** 2)
                    # Fluence through a plane: one over the cosine, at most 20.
                    weight = kerma[k] * (1 - share) + kerma[k + 1] * share
                    for n in range(len(radii)):
                        if r <= radii[n]:
                            back[n] += weight * min(20.0, -1.0 / w)
                break
            x += u * step
            y += v * step
            z = z_next
            pick = numpy.random.random() * total
            if pick < m_p:
                break
            kind = 0 if pick < m_p + m_c else 1
            nearest = min(max(int(energy + 0.5) - 1, 0), len(photo) - 1)
            quantile = numpy.random.random() * (inverse.shape[2] - 1)
            q = int(quantile)
            cosine = inverse[kind, nearest, q] + (inverse[kind, nearest, q + 1] - inverse[kind, nearest, q]) * (quantile - q)
            if kind == 1:
                energy = energy / (1 + energy / 510.999 * (1 - cosine))
            if energy < 2:
                break
            phi = 2 * numpy.pi * numpy.random.random()
            sine = numpy.sqrt(max(0.0, 1 - cosine * cosine))
            c, s = numpy.cos(phi), numpy.sin(phi)
            if abs(w) > 0.99999:
                u, v, w = sine * c, sine * s, cosine * (1 if w > 0 else -1)
            else:
                side = numpy.sqrt(1 - w * w)
                u, v, w = (sine * (u * w * c - v * s) / side + u * cosine,
                           sine * (v * w * c + u * s) / side + v * cosine,
                           -sine * side * c + w * cosine)
            scattered = True


def main():
    photo, coherent, incoherent, inverse = tables()
    here = pathlib.Path(__file__).resolve().parent.parent / "raw"
    air = {7: 0.755268, 8: 0.231781, 18: 0.012827, 6: 0.000124}
    kerma = numpy.array([energy * sum(share * (xraylib.CS_Photo(z, float(energy)) + transfer(z, float(energy)))
                                      for z, share in air.items()) for energy in GRID])
    lines = [f"# {HISTORIES} histories a row, xraylib {xraylib.__version__}", "thickness_mm\tenergy_kev\tgap_mm\t" + "\t".join(f"within_{r}" for r in RADII)]
    behind = [lines[0], "energy_kev\t" + "\t".join(f"within_{r}" for r in RADII)]
    for thickness in THICKNESSES:
        for energy in ENERGIES:
            forward = numpy.zeros((len(GAPS), len(RADII)))
            back = numpy.zeros(len(RADII))
            follow(HISTORIES, 1000 * thickness + energy, float(energy), float(thickness), photo, coherent, incoherent, inverse,
                   numpy.array(GAPS, dtype=float), numpy.array(RADII, dtype=float), kerma, forward, back)
            total = xraylib.CS_Total_CP(WATER, float(energy)) / 10
            primary = HISTORIES * energy * numpy.exp(-total * thickness)
            for gap, row in zip(GAPS, forward / primary):
                lines.append(f"{thickness}\t{energy}\t{gap}\t" + "\t".join(f"{value:.4g}" for value in row))
            if thickness == 200:
                behind.append(f"{energy}\t" + "\t".join(f"{value:.4g}" for value in back / (HISTORIES * kerma[energy - 1])))
        print(thickness, flush=True)
    (here / "slabs.tsv").write_text("\n".join(lines) + "\n")
    (here / "backscatter.tsv").write_text("\n".join(behind) + "\n")


def transfer(z, energy):
    """Energy that incoherent scattering gives to the electron, over the photon's, times its cross-section, in cm2/g."""
    theta = numpy.linspace(1e-3, numpy.pi, 181)
    density = numpy.array([known(xraylib.DCS_Compt, z, energy, angle) for angle in theta]) * numpy.sin(theta)
    ratio = 1 / (1 + energy / 510.999 * (1 - numpy.cos(theta)))
    return xraylib.CS_Compt(z, energy) * float(numpy.sum(density * (1 - ratio)) / numpy.sum(density))


main()
