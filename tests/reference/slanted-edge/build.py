"""MTF50 of drawn slanted edges by the steps of ISO 12233 (edge-based spatial frequency response).

Writes mtf50.json beside this file. Steps: place of the edge in each row by the centroid of the windowed derivative;
a straight line through the places; pixels projected along it into bins of a quarter pixel; derivative of that
edge-spread function; Hamming window; discrete Fourier transform; correction for the derivative over two bins
and for the averaging within a bin. Needs numpy and scipy; the tests need only the file.
The edge is a Gaussian's edge-spread function in closed form, 0.5 (1 + erf(x / (sigma sqrt 2))), rounded to whole pixel values.
"""
import json
import pathlib

import numpy
import scipy
from scipy.special import erf

SIDE = 240
LOW, STEP = 20000.0, 8000.0
OVERSAMPLING = 4


def edge(sigma, degrees):
    y, x = numpy.mgrid[0:SIDE, 0:SIDE].astype(float)
    angle = numpy.radians(degrees)
    middle = (SIDE - 1) / 2
    across = (x - middle) * numpy.cos(angle) + (y - middle) * numpy.sin(angle)
    return numpy.floor(LOW + STEP * 0.5 * (1 + erf(across / (sigma * numpy.sqrt(2)))) + 0.5)


def mtf50(image):
    rows, columns = image.shape
    derivative = numpy.zeros_like(image)
    derivative[:, 1:-1] = (image[:, 2:] - image[:, :-2]) / 2
    x = numpy.arange(columns)
    window = numpy.hamming(columns)
    places = ((derivative * window) @ x) / (derivative * window).sum(axis=1)
    for _ in range(3):  # once more with the window on the edge
        line = numpy.polyfit(numpy.arange(rows), places, 1)
        fitted = numpy.polyval(line, numpy.arange(rows))
        windows = 0.54 + 0.46 * numpy.cos(numpy.clip(2 * numpy.pi * (x[None, :] - fitted[:, None]) / columns, -numpy.pi, numpy.pi))
        places = ((derivative * windows) * x).sum(axis=1) / (derivative * windows).sum(axis=1)
    line = numpy.polyfit(numpy.arange(rows), places, 1)
    slope = line[0]
    across = (x[None, :] - numpy.polyval(line, numpy.arange(rows))[:, None]) * numpy.cos(numpy.arctan(slope))
    bins = numpy.floor(across * OVERSAMPLING).astype(int)
    reach = 100 * OVERSAMPLING
    keep = (bins >= -reach) & (bins < reach)
    sums = numpy.bincount(bins[keep] + reach, weights=image[keep], minlength=2 * reach)
    counts = numpy.bincount(bins[keep] + reach, minlength=2 * reach)
    spread = sums / counts
    line_spread = numpy.zeros_like(spread)
    line_spread[1:-1] = (spread[2:] - spread[:-2]) / 2
    line_spread *= numpy.hamming(line_spread.size)
    size = 8 * line_spread.size
    transfer = numpy.abs(numpy.fft.rfft(line_spread, size))
    frequency = numpy.fft.rfftfreq(size, 1 / OVERSAMPLING)
    bin_width = 1 / OVERSAMPLING
    transfer = transfer / transfer[0]
    inner = frequency > 0
    # Difference over two bins, then the mean within one bin.
    transfer[inner] /= numpy.sinc(2 * bin_width * frequency[inner]) * numpy.sinc(bin_width * frequency[inner])
    below = numpy.nonzero(transfer < 0.5)[0][0]
    share = (transfer[below - 1] - 0.5) / (transfer[below - 1] - transfer[below])
    return float(frequency[below - 1] + share * (frequency[below] - frequency[below - 1]))


def main():
    edges = []
    for sigma in (0.8, 1.2, 2.0, 3.0):
        for degrees in (4.0, 8.0):
            found = mtf50(edge(sigma, degrees))
            edges.append({"sigmaPixels": sigma, "degrees": degrees, "mtf50PerPixel": round(found, 6), "closedFormPerPixel": round(numpy.sqrt(numpy.log(2) / 2) / (numpy.pi * sigma), 6)})
    document = {"numpy": numpy.__version__, "scipy": scipy.__version__, "side": SIDE, "low": LOW, "step": STEP, "edges": edges}
    pathlib.Path(__file__).with_name("mtf50.json").write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")


main()
