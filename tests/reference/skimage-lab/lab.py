"""CIE L*a*b* (D65, 2 degrees) of sRGB colours by scikit-image: an outside check of the colour arithmetic in Hotlight.Drawing.Tests.

Writes lab.tsv beside itself. Run with Debian's python3-skimage: python3 lab.py
"""
import pathlib

import numpy
import skimage
from skimage.color import rgb2lab

COLORS = ["#FFF04D", "#7CF4FF", "#6FB300", "#FF6A85", "#CF82FF", "#BBFF99", "#0B0D10"]

rows = [f"# scikit-image {skimage.__version__}, skimage.color.rgb2lab, illuminant D65, observer 2; colour, L*, a*, b*"]
for color in COLORS:
    rgb = numpy.array([[[int(color[start:start + 2], 16) / 255 for start in (1, 3, 5)]]])
    lab = rgb2lab(rgb)[0, 0]
    rows.append("\t".join([color, *(f"{value:.3f}" for value in lab)]))
pathlib.Path(__file__).with_name("lab.tsv").write_text("\n".join(rows) + "\n", encoding="utf-8")
