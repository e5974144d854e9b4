"""Noise of three drawn images as another author's library sees it.

Writes estimates.json beside this file. The images are drawn from integers alone (splitmix64), so that any language
draws the same pixels; their SHA-256 stands in the file. Needs numpy, scipy and scikit-image; the tests need only the file.
"""
import hashlib
import json
import pathlib

import numpy
import scipy
import scipy.ndimage
import skimage
from skimage.restoration import estimate_sigma

SIDE = 512
MEAN = 8000.0
SIGMA = 160.0


def splitmix64(count, seed):
    with numpy.errstate(over="ignore"):
        state = numpy.uint64(seed) + numpy.arange(1, count + 1, dtype=numpy.uint64) * numpy.uint64(0x9E3779B97F4A7C15)
        state = (state ^ (state >> numpy.uint64(30))) * numpy.uint64(0xBF58476D1CE4E5B9)
        state = (state ^ (state >> numpy.uint64(27))) * numpy.uint64(0x94D049BB133111EB)
        return state ^ (state >> numpy.uint64(31))


def white(rows, columns, seed):
    """Sums of twelve 16-bit uniform numbers, less their mean: an integer of deviation 65536 (Irwin and Hall)."""
    words = splitmix64(rows * columns * 3, seed).reshape(rows * columns, 3)
    total = numpy.zeros(rows * columns, dtype=numpy.int64)
    for part in range(4):
        total += ((words >> numpy.uint64(16 * part)) & numpy.uint64(0xFFFF)).sum(axis=1).astype(numpy.int64)
    return (total - 393210).reshape(rows, columns)


def filtered(rows, columns, seed):
    """White noise through (1, 4, 6, 4, 1) in both directions, a blur of 1 pixel; deviation 70 times that of the white noise."""
    noise = white(rows + 4, columns + 4, seed)
    weights = (1, 4, 6, 4, 1)
    across = sum(w * noise[:, k:k + columns] for k, w in enumerate(weights))
    return sum(w * across[k:k + rows, :] for k, w in enumerate(weights))


def immerkaer(image):
    mask = numpy.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]])
    inside = scipy.ndimage.convolve(image.astype(float), mask)[1:-1, 1:-1]
    return float(numpy.sqrt(numpy.pi / 2) / 6 * numpy.abs(inside).mean())


def main():
    images = {
        "white": white(SIDE, SIDE, 1) / 65536 * SIGMA,
        "filtered": filtered(SIDE, SIDE, 2) / (65536 * 70) * SIGMA,
        "white-on-slope": white(SIDE, SIDE, 3) / 65536 * SIGMA + numpy.arange(SIDE)[None, :] * 4.0,
    }
    entries = {}
    for name, noise in images.items():
        pixels = numpy.floor(MEAN + noise + 0.5).astype("<u2")
        entries[name] = {
            "sha256": hashlib.sha256(pixels.tobytes()).hexdigest(),
            "trueSigma": SIGMA,
            "estimateSigma": float(estimate_sigma(pixels.astype(float))),
            "immerkaer": immerkaer(pixels),
        }
    document = {
        "made by": "tests/reference/noise/build.py",
        "versions": {"numpy": numpy.__version__, "scipy": scipy.__version__, "scikit-image": skimage.__version__},
        "side": SIDE,
        "mean": MEAN,
        "images": entries,
    }
    target = pathlib.Path(__file__).with_name("estimates.json")
    target.write_text(json.dumps(document, indent=2) + "\n", encoding="utf-8")


main()
