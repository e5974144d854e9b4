"""Mass attenuation as another author's library sees it.

Writes attenuation.tsv beside this file: material, energy in keV, total mass attenuation with coherent scattering in cm2/g,
by xraylib's CS_Total of the elements and CS_Total_CP of compounds. Tissues are added up from the mass fractions of ICRU-44
as printed in NISTIR 5632 table 2 (from memory). Needs python3-xraylib; the tests need only the file.
"""
import pathlib

import xraylib

ELEMENTS = {
    "carbon": 6, "aluminium": 13, "titanium": 22, "iron": 26, "copper": 29, "zinc": 30, "amorphous selenium": 34, "silver": 47,
    "tin": 50, "iodine": 53, "tungsten": 74, "gold": 79, "lead": 82,
}
COMPOUNDS = {
    "water": "H2O", "polymethyl methacrylate": "C5H8O2", "polyethylene": "C2H4", "plaster": "CaSO6H4",
    "caesium iodide": "CsI", "gadolinium oxysulphide": "Gd2O2S", "barium fluorohalide": "BaFBr0.85I0.15",
}
MIXTURES = {
    "air": {6: 0.000124, 7: 0.755268, 8: 0.231781, 18: 0.012827},
    "soft tissue": {1: 0.102, 6: 0.143, 7: 0.034, 8: 0.708, 11: 0.002, 15: 0.003, 16: 0.003, 17: 0.002, 19: 0.003},
    "muscle": {1: 0.102, 6: 0.143, 7: 0.034, 8: 0.710, 11: 0.001, 15: 0.002, 16: 0.003, 17: 0.001, 19: 0.004},
    "adipose tissue": {1: 0.114, 6: 0.598, 7: 0.007, 8: 0.278, 11: 0.001, 16: 0.001, 17: 0.001},
    "cortical bone": {1: 0.034, 6: 0.155, 7: 0.042, 8: 0.435, 11: 0.001, 12: 0.002, 15: 0.103, 16: 0.003, 20: 0.225},
    "blood": {1: 0.102, 6: 0.110, 7: 0.033, 8: 0.745, 11: 0.001, 15: 0.001, 16: 0.002, 17: 0.003, 19: 0.002, 26: 0.001},
    "lung tissue": {1: 0.103, 6: 0.105, 7: 0.031, 8: 0.749, 11: 0.002, 15: 0.002, 16: 0.003, 17: 0.003, 19: 0.002},
    "brass": {29: 0.63, 30: 0.37},
    "steel": {26: 0.995, 6: 0.005},
}
# On and between the tabulated energies, away from every edge by 0.2 keV or more.
ENERGIES = [10, 12.5, 15, 17.5, 20, 22.5, 25, 27, 31, 32.5, 35, 38, 42, 45, 49, 52.5, 55, 60, 65, 68.5, 71, 75, 79, 84, 92, 100, 110, 122.5, 135, 150]


def main():
    rows = []
    for name, number in ELEMENTS.items():
        rows += [(name, energy, xraylib.CS_Total(number, energy)) for energy in ENERGIES]
    for name, formula in COMPOUNDS.items():
        rows += [(name, energy, xraylib.CS_Total_CP(formula, energy)) for energy in ENERGIES]
    for name, parts in MIXTURES.items():
        assert abs(sum(parts.values()) - 1) < 1e-6, name
        rows += [(name, energy, sum(share * xraylib.CS_Total(number, energy) for number, share in parts.items())) for energy in ENERGIES]
    text = f"# xraylib {xraylib.__version__}, CS_Total and CS_Total_CP, cm2/g\nmaterial\tenergy_kev\tmass_attenuation_cm2_per_g\n"
    text += "".join(f"{name}\t{energy}\t{value:.6g}\n" for name, energy, value in rows)
    pathlib.Path(__file__).with_name("attenuation.tsv").write_text(text)


main()
