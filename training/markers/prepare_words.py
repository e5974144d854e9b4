"""Gathers the glyphs that words.py makes words of: capital letters A to Z of the openly licensed fonts of the machine.

    python3 prepare_words.py --out FOLDER

Writes atlas.npz: `learn` and `check` (fonts, 26, ROWS, COLUMNS), capitals CAP pixels high with their feet on row CAP + MARGIN,
ink at the left; `learn_wide` and `check_wide` (fonts, 26), width of the ink in pixels. Every sixth font is kept apart for the
check, the same as prepare.py keeps apart. Needs what prepare.py needs.
"""

import argparse
import os
import string

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from prepare import fonts

CAP = 48  # height of a capital, pixels
MARGIN = 12  # rows above and below it, for tails and feet
ROWS = CAP + 2 * MARGIN
COLUMNS = 72


def alphabet(path):
    """The 26 capitals of a font and the width of each; None where one is missing, or no block capital."""
    font = ImageFont.truetype(path, 100)
    box = font.getbbox("H")
    font = ImageFont.truetype(path, int(round(100 * CAP / max(1, box[3] - box[1]))))
    box = font.getbbox("H")
    if not 0.9 * CAP < box[3] - box[1] < 1.1 * CAP:
        return None
    masks, wide = np.zeros((26, ROWS, COLUMNS), np.uint8), np.zeros(26, np.int64)
    for k, letter in enumerate(string.ascii_uppercase):
        here = font.getbbox(letter)
        if here[2] - here[0] < 3 or here[2] - here[0] > COLUMNS or not 0.8 * CAP < here[3] - here[1] < 1.5 * CAP:
            return None
        image = Image.new("L", (COLUMNS, ROWS))
        ImageDraw.Draw(image).text((-here[0], MARGIN - box[1]), letter, 255, font=font)
        masks[k] = np.array(image)
        wide[k] = here[2] - here[0]
    return masks, wide


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--out", required=True)
    given = parser.parse_args()
    paths = fonts()
    out = {}
    for name, part in (("learn", [p for k, p in enumerate(paths) if k % 6 != 5]), ("check", [p for k, p in enumerate(paths) if k % 6 == 5])):
        found = []
        for path in part:
            try:
                made = alphabet(path)
            except OSError:
                made = None
            if made is not None:
                found.append(made)
        out[name] = np.array([masks for masks, _ in found])
        out[name + "_wide"] = np.array([wide for _, wide in found])
        print(name, len(found), "of", len(part), "fonts")
    np.savez_compressed(os.path.join(given.out, "atlas.npz"), **out)


if __name__ == "__main__":
    main()
