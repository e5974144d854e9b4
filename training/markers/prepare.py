"""Gathers what train.py learns from: stamps of letters and of other small dense shapes, and backgrounds.

    python3 prepare.py --exposures FOLDER --radiographs FOLDER --out FOLDER

FOLDER of exposures: NAME.presentation.dcm, NAME.processing.dcm and NAME.truth.json of the phantom lab;
those whose SHA-1 of NAME begins with c to f are kept apart.
FOLDER of radiographs: openly licensed radiographs; only those whose SHA-1 of the file name begins with 0 to 7 are read,
the others are kept apart. real-labels.tsv says where they hold a marker ("?": a word, neither learnt nor counted).
Needs numpy, Pillow, OpenCV, pydicom, and fontconfig's list of fonts. Fixed seed; writes stamps.npz and backgrounds.npz.
"""

import argparse
import csv
import glob
import hashlib
import json
import os
import subprocess

import cv2
import numpy as np
import pydicom
from PIL import Image, ImageDraw, ImageFont

CANVAS = 160  # pixels of a stamp
CAP = 64  # height of the letter in a stamp, pixels
CELL_MM = 0.275  # fine pixel of the backgrounds, mm at the receptor
OPEN_FONTS = ("DejaVu", "Liberation", "Lato", "Nimbus", "URW", "Noto Mono", "Noto Sans Mono", "P052", "C059", "TeX Gyre")


def fonts():
    """Files of the openly licensed fonts of this machine, sorted by name."""
    lines = subprocess.run(["fc-list", ":", "file", "family"], capture_output=True, text=True, check=True).stdout.splitlines()
    found = set()
    for line in lines:
        path, _, family = line.partition(":")
        name = os.path.basename(path)
        if any(f in family for f in OPEN_FONTS) and path.endswith((".ttf", ".otf", ".t1", ".pfb")) and "Math" not in family:
            found.add((name, path))
    unique = {}
    for name, path in sorted(found):
        unique.setdefault(name.rsplit(".", 1)[0], path)
    return [unique[k] for k in sorted(unique)]


def glyph(path, text, cap):
    """A text's mask, cut to its ink, with capital letters `cap` pixels high; None where the font lacks it."""
    try:
        font = ImageFont.truetype(path, 100)
        box = font.getbbox("H")
        size = int(round(100 * cap / max(1, box[3] - box[1])))
        font = ImageFont.truetype(path, size)
        box = font.getbbox(text)
        image = Image.new("L", (box[2] - box[0] + 8, box[3] - box[1] + 8))
        ImageDraw.Draw(image).text((4 - box[0], 4 - box[1]), text, 255, font=font)
        ink = image.getbbox()
        return None if ink is None else np.array(image.crop(ink))
    except OSError:
        return None


def paste(canvas, mask, cx, cy):
    """Puts a mask onto a canvas by its centre, the brighter wins; what falls off is cut."""
    h, w = mask.shape
    y, x = int(round(cy - h / 2)), int(round(cx - w / 2))
    y0, x0, y1, x1 = max(0, y), max(0, x), min(CANVAS, y + h), min(CANVAS, x + w)
    if y1 > y0 and x1 > x0:
        part = canvas[y0:y1, x0:x1]
        np.maximum(part, mask[y0 - y:y1 - y, x0 - x:x1 - x], out=part)


def strokes(letter, rng):
    """A letter of plain strokes, as bent from lead strip or milled with a round cutter."""
    image = Image.new("L", (CANVAS * 2, CANVAS * 2))
    draw = ImageDraw.Draw(image)
    h = CAP * 2
    w = h * rng.uniform(0.5, 0.85)
    t = int(h * rng.uniform(0.08, 0.24))
    left, right, top, bottom = CANVAS - w / 2, CANVAS + w / 2, CANVAS - h / 2, CANVAS + h / 2
    i = t / 2
    round_caps = rng.random() < 0.5

    def line(points):
        draw.line(points, 255, t, joint="curve")
        if round_caps:
            for x, y in points:
                draw.ellipse([x - i, y - i, x + i, y + i], 255)
    if letter == "L":
        line([(left + i, top + (i if round_caps else 0)), (left + i, bottom - i), (right - (i if round_caps else 0), bottom - i)])
        draw.rectangle([left, bottom - t, left + t, bottom], 255) if not round_caps else None
    else:
        middle = top + h * rng.uniform(0.5, 0.6)
        r = (middle - top) / 2
        line([(left + i, top + i), (left + i, bottom - (i if round_caps else 0))])
        a = np.linspace(-np.pi / 2, np.pi / 2, 15)
        cx = right - r
        line([(left + i, top + i)] + [(cx + (r - i) * np.cos(v), top + r + (r - i) * np.sin(v)) for v in a] + [(left + i, middle - i)])
        line([(left + w * rng.uniform(0.3, 0.55), middle - i), (right - i, bottom - (i if round_caps else 0))])
    mask = np.array(image.resize((CANVAS, CANVAS), Image.BOX))
    return mask


def with_company(mask, path, rng):
    """Initials, figures, pellets, a ring or a holder beside the letter; returns strokes and plate."""
    plate = np.zeros_like(mask)
    mask = mask.copy()
    c = CANVAS / 2
    pick = rng.random()
    if pick < 0.3:
        text = "".join(rng.choice(list("ABCDEFGHJKMNPSTUVWXYZLR0123456789"), rng.integers(1, 4)))
        small = glyph(path, text, int(CAP * rng.uniform(0.28, 0.6)))
        if small is not None:
            h, w = small.shape
            gap = rng.uniform(2, 12)
            ys, xs = np.nonzero(mask > 100)
            side = rng.random()
            if side < 0.45:
                paste(mask, small, xs.max() + gap + w / 2, rng.uniform(ys.min() + h / 2, ys.max() - h / 2 + 1))
            elif side < 0.9:
                paste(mask, small, c + rng.uniform(-15, 15), ys.max() + gap + h / 2)
            else:
                paste(mask, small, xs.min() - gap - w / 2, rng.uniform(ys.min() + h / 2, ys.max() - h / 2 + 1))
    elif pick < 0.4:
        r = rng.uniform(3, 14)
        x, y = c + rng.choice([-1, 1]) * rng.uniform(38, 62), c + rng.uniform(-40, 40)
        cv2.circle(mask, (int(x), int(y)), int(r), 255, -1 if rng.random() < 0.6 else 2)
    pick = rng.random()
    half = CAP / 2
    if pick < 0.25:
        w, h = half * rng.uniform(1.0, 1.5), half * rng.uniform(1.2, 1.8)
        cv2.rectangle(plate, (int(c - w + rng.uniform(-6, 6)), int(c - h)), (int(c + w + rng.uniform(-4, 10)), int(c + h + rng.uniform(0, 10))), 255, -1)
    elif pick < 0.35:
        cv2.circle(plate, (int(c + rng.uniform(-4, 4)), int(c + rng.uniform(-4, 4))), int(half * rng.uniform(1.25, 2.1)), 255, -1)
    elif pick < 0.42:
        cv2.circle(mask, (int(c), int(c)), int(half * rng.uniform(1.4, 2.2)), 255, int(rng.integers(1, 6)))
    elif pick < 0.47:
        w, h = half * rng.uniform(1.2, 1.8), half * rng.uniform(1.3, 2)
        cv2.rectangle(mask, (int(c - w), int(c - h)), (int(c + w), int(c + h)), 255, int(rng.integers(1, 5)))
    return mask, plate


def letters(paths, rng):
    stamps = []
    for letter in "LR":
        for path in paths:
            mask = glyph(path, letter, CAP)
            if mask is None or mask.shape[0] < 0.8 * CAP or mask.shape[0] > 1.25 * CAP or mask.shape[1] > 1.4 * CAP or mask.shape[1] < 0.25 * CAP:
                continue
            mask = cv2.resize(mask, (mask.shape[1], CAP), interpolation=cv2.INTER_AREA)
            base = np.zeros((CANVAS, CANVAS), np.uint8)
            paste(base, mask, CANVAS / 2, CANVAS / 2)
            for k in range(4):
                shape = base
                if k >= 2 and rng.random() < 0.5:
                    grow = int(rng.integers(2, 5))
                    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * grow + 1,) * 2)
                    shape = cv2.dilate(base, kernel)
                    ys = np.nonzero(shape.max(1) > 100)[0]
                    s = CAP / (ys[-1] - ys[0] + 1)
                    m = cv2.getRotationMatrix2D((CANVAS / 2 - 0.5, CANVAS / 2 - 0.5), 0, s)
                    shape = cv2.warpAffine(shape, m, (CANVAS, CANVAS), flags=cv2.INTER_AREA)
                if k == 3 and rng.random() < 0.5:
                    shape = shape.copy()
                    gap = int(rng.integers(3, 8))
                    if rng.random() < 0.5:
                        y = int(rng.integers(60, 100))
                        shape[y:y + gap] = 0
                    else:
                        x = int(CANVAS / 2 + rng.integers(-6, 6))
                        shape[:, x:x + gap // 2] = 0
                stamps.append((letter, *(with_company(shape, path, rng) if k else (shape, np.zeros_like(shape)))))
        for k in range(120):
            shape = strokes(letter, rng)
            stamps.append((letter, *(with_company(shape, paths[int(rng.integers(len(paths)))], rng) if k % 2 else (shape, np.zeros_like(shape)))))
    return stamps


def others(paths, rng, count):
    """What must not be taken for a marker: other letters and figures, runs of text, and dense things."""
    stamps = []
    c = CANVAS // 2
    for n in range(count):
        mask = np.zeros((CANVAS, CANVAS), np.uint8)
        kind = n % 10
        path = paths[int(rng.integers(len(paths)))]
        width = int(rng.integers(3, 16))
        p = [(int(c + v[0]), int(c + v[1])) for v in rng.uniform(-36, 36, (6, 2))]
        if kind < 3:
            g = glyph(path, str(rng.choice(list("ABCDEFGHIJKMNOPQSTUVWXYZ0123456789abdefghkmnpqtyx"))), CAP)
            if g is not None:
                paste(mask, g, c, c)
        elif kind == 3:
            text = "".join(rng.choice(list("ABCDEFGHIJKLMNOPQRSTUVWXYZLR0123456789abcdefghilmnoprst "), int(rng.integers(3, 9))))
            g = glyph(path, text, int(rng.uniform(20, 34)))
            if g is not None:
                paste(mask, g[:, :CANVAS], c, c)
                if rng.random() < 0.3:
                    paste(mask, g[:, :CANVAS], c, c + g.shape[0] + 8)
        elif kind == 4:
            r = int(rng.integers(14, 36))
            cv2.circle(mask, (c, c), r, 255, width if rng.random() < 0.7 else -1)
            if rng.random() < 0.4:
                for a in np.arange(4) * np.pi / 2 + rng.uniform(0, 3):
                    cv2.circle(mask, (int(c + 8 * np.cos(a)), int(c + 8 * np.sin(a))), 3, 0 if rng.random() < 0.7 else 255, -1)
        elif kind == 5:
            cv2.polylines(mask, [np.array(p[: int(rng.choice([2, 4, 5, 6]))])], bool(rng.random() < 0.3), 255, max(2, width // 2), cv2.LINE_AA)
        elif kind == 6:
            if rng.random() < 0.5:
                cv2.ellipse(mask, (c, c), (int(rng.integers(16, 36)), int(rng.integers(8, 30))), 0, 0, int(rng.integers(60, 360)), 255, max(2, width // 2))
            else:
                cv2.rectangle(mask, (c - int(rng.integers(6, 36)), c - int(rng.integers(6, 36))), (c + int(rng.integers(6, 36)), c + int(rng.integers(6, 36))), 255, -1 if rng.random() < 0.5 else width // 2 + 1)
        elif kind == 7 and rng.random() < 0.4:
            # A hollow arrow, as drawn over pictures for teaching.
            a, b, head = rng.uniform(8, 20), rng.uniform(4, 14), rng.uniform(15, 34)
            arrow = [(-30, -b), (30 - a, -b), (30 - a, -head), (36, 0), (30 - a, head), (30 - a, b), (-30, b)]
            cv2.polylines(mask, [np.array([(int(c + x), int(c + y)) for x, y in arrow])], True, 255, int(rng.integers(2, 8)), cv2.LINE_AA)
        elif kind == 7:
            cv2.arrowedLine(mask, p[0], p[1], 255, width // 2 + 1, tipLength=0.4) if rng.random() < 0.5 else cv2.fillPoly(mask, [np.array(p[:3])], 255)
        elif kind == 8:
            a = rng.uniform(0, np.pi)
            for k in range(-8, 9):
                x, y = int(c + k * 8 * np.cos(a)), int(c + k * 8 * np.sin(a))
                cv2.circle(mask, (x, y), int(rng.integers(2, 5)), 255, -1)
                if rng.random() < 0.6:
                    cv2.line(mask, (int(x - 8 * np.sin(a)), int(y + 8 * np.cos(a))), (int(x + 8 * np.sin(a)), int(y - 8 * np.cos(a))), 255, 3)
        else:
            cv2.line(mask, (c, c - 34), (c, c + 34), 255, width)
            cv2.line(mask, (c - 34, c + int(rng.integers(-30, 30))), (c + 34, c + int(rng.integers(-30, 30))), 255, max(2, width // 2))
        stamps.append((mask, np.zeros_like(mask)))
    return stamps


def is_kept_apart(name):
    return int(hashlib.sha1(name.encode()).hexdigest()[0], 16) >= 8


def lab_background(path, truth, scene_marker):
    file = pydicom.dcmread(path)
    pixels = file.pixel_array.astype(np.float32)
    if path.endswith("processing.dcm"):
        pixels = np.sqrt(pixels)
    spacing = truth["image"]["pixelSpacingMm"]
    k = spacing / CELL_MM
    low, high = np.percentile(pixels, [0.02, 99.98])
    small = cv2.resize(pixels, None, fx=k, fy=k, interpolation=cv2.INTER_AREA)
    small = np.clip((small - low) / max(1e-6, high - low), 0, 1)
    labels = []
    for m in truth["markers"]["found"]:
        x, y = ((np.array(m["center"]) + 0.5) * k - 0.5).tolist()
        i, j = int(round(y)), int(round(x))
        h = scene_marker["heightMm"] / CELL_MM
        r = int(0.6 * h)
        window = small[max(0, i - r):i + r + 1, max(0, j - r):j + r + 1]
        whole = window.size >= 0.95 * (2 * r + 1) ** 2 and (window.std() > 0.02)
        inside = m["insideField"]
        labels.append((" LR".index(m["letter"]) if whole and inside else 0, x, y, h, m["rotationDegrees"], int(m["mirrored"])))
    return np.round(small * 255).astype(np.uint8), labels


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--exposures", required=True)
    parser.add_argument("--radiographs", required=True)
    parser.add_argument("--out", required=True)
    given = parser.parse_args()
    rng = np.random.default_rng(20261126)
    os.makedirs(given.out, exist_ok=True)
    paths = fonts()
    # Every sixth font is kept apart, for the check that ends the training.
    learn = [p for k, p in enumerate(paths) if k % 6 != 5]
    check = [p for k, p in enumerate(paths) if k % 6 == 5]
    out = {}
    for name, part in (("learn", learn), ("check", check)):
        made = letters(part, rng)
        out[f"letters_{name}"] = np.array([[m, p] for _, m, p in made])
        out[f"letter_{name}"] = np.array([" LR".index(letter) for letter, _, _ in made], np.int64)
        out[f"others_{name}"] = np.array([[m, p] for m, p in others(part, rng, 900 if name == "learn" else 200)])
    np.savez_compressed(os.path.join(given.out, "stamps.npz"), **out)
    print(len(learn), "fonts to learn,", len(check), "kept apart;", {k: v.shape for k, v in out.items()})

    images, labels = [], []
    for n, path in enumerate(sorted(glob.glob(os.path.join(given.exposures, "*.truth.json")))):
        truth = json.load(open(path))
        digits = hashlib.sha1(os.path.basename(path)[: -len(".truth.json")].encode()).hexdigest()
        # A quarter of the exposures is kept apart; of the rest half is enough, one rendering each.
        if int(digits[0], 16) >= 12 or int(digits[1], 16) >= 9:
            continue
        for rendering in [["presentation", "processing"][n % 2]]:
            image, found = lab_background(path.replace("truth.json", rendering + ".dcm"), truth, truth["scene"].get("marker"))
            images.append(image)
            labels.append(found)
    real = {}
    here = os.path.dirname(os.path.abspath(__file__))
    for row in csv.DictReader(open(os.path.join(here, "real-labels.tsv")), delimiter="\t"):
        real.setdefault(row["file"], []).append(row)
    for name in sorted(os.listdir(given.radiographs)):
        if is_kept_apart(name) or not name.endswith((".png", ".jpg")):
            continue
        image = cv2.imread(os.path.join(given.radiographs, name), cv2.IMREAD_UNCHANGED)
        image = (image[..., 1] if image.ndim == 3 else image).astype(np.float32)
        k = min(1, 1280 / max(image.shape))
        small = cv2.resize(image, None, fx=k, fy=k, interpolation=cv2.INTER_AREA)
        images.append(np.round(255 * np.clip(small / max(1, image.max()), 0, 1)).astype(np.uint8))
        labels.append([(" LR".find(r["letter"]) if r["letter"] in "LR" else 0, (float(r["x"]) + 0.5) * k - 0.5, (float(r["y"]) + 0.5) * k - 0.5, float(r["height"]) * k, float(r["turnDegrees"]), int(r["mirrored"]))
                       for r in real.get(name, [])])
    store = {f"image_{k}": v for k, v in enumerate(images)}
    store.update({f"labels_{k}": np.array(v, np.float32).reshape(-1, 6) for k, v in enumerate(labels)})
    np.savez_compressed(os.path.join(given.out, "backgrounds.npz"), **store)
    print(len(images), "backgrounds,", sum(map(len, labels)), "markers in them")


if __name__ == "__main__":
    main()
