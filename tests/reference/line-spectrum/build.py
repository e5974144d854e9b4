"""Lines in noise as another author's library sees them.

Writes lines.json beside this file. Each image is drawn from integers (splitmix64) and one cosine, so that any language draws the same pixels;
the frequency and the amplitude of its lines are what scipy.signal.periodogram gives for the mean over rows, with zero padding to 2^18 samples.
Needs numpy and scipy; the tests need only the file.
"""
import json
import pathlib

import numpy
import scipy
import scipy.signal

SIDE = 512
MEAN = 8000.0
SIGMA = 80.0
PADDED = 1 << 18


def splitmix64(count, seed):
    with numpy.errstate(over="ignore"):
        state = numpy.uint64(seed) + numpy.arange(1, count + 1, dtype=numpy.uint64) * numpy.uint64(0x9E3779B97F4A7C15)
        state = (state ^ (state >> numpy.uint64(30))) * numpy.uint64(0xBF58476D1CE4E5B9)
        state = (state ^ (state >> numpy.uint64(27))) * numpy.uint64(0x94D049BB133111EB)
        return state ^ (state >> numpy.uint64(31))


def white(rows, columns, seed):
    """Sums of twelve 16-bit uniform numbers, less their mean: deviation 65536 (Irwin and Hall)."""
    words = splitmix64(rows * columns * 3, seed).reshape(rows * columns, 3)
    total = numpy.zeros(rows * columns)
    for word in range(3):
        for part in range(4):
            total += ((words[:, word] >> numpy.uint64(16 * part)) & numpy.uint64(0xFFFF)).astype(float)
    return ((total - 12 * 32767.5) / 65536).reshape(rows, columns)


def main():
    found = []
    for seed, per_pixel, amplitude in ((1, 0.2063, 120.0), (2, 0.3571, 60.0), (3, 0.0877, 40.0)):
        columns = numpy.arange(SIDE)
        image = numpy.rint(MEAN + SIGMA * white(SIDE, SIDE, seed) + amplitude * numpy.cos(2 * numpy.pi * per_pixel * columns)[None, :])
        profile = image.mean(axis=0)
        frequency, power = scipy.signal.periodogram(profile, window="hann", nfft=PADDED, detrend="constant", scaling="spectrum")
        at = int(numpy.argmax(power))
        # "spectrum" scaling gives the mean square of a sine at its peak: half of the amplitude squared.
        found.append({"seed": seed, "perPixel": per_pixel, "amplitude": amplitude,
                      "foundPerPixel": round(float(frequency[at]), 7), "foundAmplitude": round(float(numpy.sqrt(2 * power[at])), 3)})
    record = {"numpy": numpy.__version__, "scipy": scipy.__version__, "side": SIDE, "mean": MEAN, "sigma": SIGMA, "lines": found}
    pathlib.Path(__file__).with_name("lines.json").write_text(json.dumps(record, indent=2) + "\n")


main()
