"""Steps comparable to reading and measuring a radiograph, by general-purpose libraries, timed in a warm process.

Prints one JSON object: machine, library versions, and the median and least time of each step in ms.
Not the same work: the libraries have no measure of a field's polygon, of anatomy or of mottle apart from structure;
each step here is the nearest thing they offer on the same pixels.
"""
import json
import os
import platform
import resource
import statistics
import sys
import time

import cv2
import numpy
import pydicom
import scipy
import scipy.ndimage
import skimage
import skimage.filters
import skimage.restoration


def read(path):
    dataset = pydicom.dcmread(path)
    return numpy.ascontiguousarray(dataset.pixel_array)


def field(pixels, step=8):
    """Block means, gradients, edges and straight lines: what a field's sides are made of."""
    rows, columns = (size // step * step for size in pixels.shape)
    reduced = pixels[:rows, :columns].reshape(rows // step, step, columns // step, step).mean(axis=(1, 3), dtype=numpy.float32)
    across = cv2.Sobel(reduced, cv2.CV_32F, 1, 0)
    down = cv2.Sobel(reduced, cv2.CV_32F, 0, 1)
    magnitude = cv2.magnitude(across, down)
    edges = (magnitude > numpy.percentile(magnitude, 97)).astype(numpy.uint8)
    cv2.HoughLines(edges, 0.5, numpy.pi / 720, 40)
    return reduced


def anatomy(reduced):
    """A threshold, a clean-up and connected parts: skin to skin."""
    smooth = scipy.ndimage.gaussian_filter(reduced, 1.5)
    inside = smooth > skimage.filters.threshold_otsu(smooth)
    inside = scipy.ndimage.binary_closing(scipy.ndimage.binary_opening(inside, iterations=2), iterations=2)
    labels, _ = scipy.ndimage.label(inside)
    sizes = numpy.bincount(labels.ravel())
    parts, _ = cv2.findContours((labels == sizes[1:].argmax() + 1).astype(numpy.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    return parts


def mottle(pixels):
    return skimage.restoration.estimate_sigma(pixels)


def clipping_and_display(pixels):
    """Shares at both ends and the percentiles of what is shown."""
    counts = numpy.bincount(pixels.ravel(), minlength=65536)
    share = numpy.cumsum(counts) / pixels.size
    return counts[0], counts[65535], numpy.searchsorted(share, [0.05, 0.95])


def main():
    path = sys.argv[1]
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 15
    times = {}

    def timed(name, work, *arguments):
        start = time.perf_counter()
        result = work(*arguments)
        times.setdefault(name, []).append(1000 * (time.perf_counter() - start))
        return result

    for index in range(rounds + 2):
        if index == 2:
            times.clear()
        start = time.perf_counter()
        pixels = timed("read", read, path)
        reduced = timed("field", field, pixels)
        timed("anatomy", anatomy, reduced)
        timed("mottle", mottle, pixels)
        timed("clipping and display", clipping_and_display, pixels)
        times.setdefault("read + measure", []).append(1000 * (time.perf_counter() - start))
        print(f"\rround {index + 1} of {rounds + 2} ", end="", file=sys.stderr)
    print(file=sys.stderr)
    json.dump(
        {
            "machine": f"{platform.platform()}, {os.cpu_count()} cores, Python {platform.python_version()}",
            "versions": {
                "numpy": numpy.__version__,
                "scipy": scipy.__version__,
                "scikit-image": skimage.__version__,
                "opencv": cv2.__version__,
                "pydicom": pydicom.__version__,
            },
            "peakMegabytes": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6,
            "medianMs": {name: statistics.median(values) for name, values in times.items()},
            "leastMs": {name: min(values) for name, values in times.items()},
        },
        sys.stdout,
    )


main()
