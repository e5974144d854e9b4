"""Figures comparable to Hotlight's sections, by general-purpose libraries, timed in a warm process.

usage: peer.py FILE [ROUNDS]

Prints one JSON object: machine, library versions, the median and least time of each step in ms, and what each step found.
Not the same work: the libraries have no measure of a field's polygon with its uncertainty, of noise apart from structure or of motion.
Each step is the quickest sound way to a comparable figure that numpy, scipy, scikit-image and OpenCV offer: on block means
where that is enough, on all pixels where it is not, letters sought only where something of their size stands out.
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
import scipy.fft
import scipy.ndimage
import scipy.optimize
import scipy.signal
import scipy.special
import skimage
import skimage.filters
import skimage.restoration

STEP = 8


def read(path):
    dataset = pydicom.dcmread(path)
    return numpy.ascontiguousarray(dataset.pixel_array), float(dataset.ImagerPixelSpacing[0])


def block_means(pixels, step):
    rows, columns = (size // step * step for size in pixels.shape)
    return cv2.resize(pixels[:rows, :columns].astype(numpy.float32), (columns // step, rows // step), interpolation=cv2.INTER_AREA)


def field(pixels):
    """Gradients of block means, straight lines among the strongest, and the place of each side by the steepest fall of full-size profiles."""
    reduced = block_means(pixels, STEP)
    across = cv2.Sobel(reduced, cv2.CV_32F, 1, 0)
    down = cv2.Sobel(reduced, cv2.CV_32F, 0, 1)
    magnitude = cv2.magnitude(across, down)
    edges = (magnitude > numpy.percentile(magnitude, 97)).astype(numpy.uint8)
    lines = cv2.HoughLines(edges, 0.5, numpy.pi / 720, 40)
    rows, columns = pixels.shape
    places = []
    for at in numpy.linspace(0.3, 0.7, 9):
        for profile in (pixels[int(at * rows), :], pixels[:, int(at * columns)]):
            slope = scipy.ndimage.gaussian_filter1d(profile.astype(numpy.float32), 3, order=1)
            places.append((int(slope.argmax()), int(slope.argmin())))
    return reduced, (0 if lines is None else len(lines)), places


def anatomy(reduced):
    """Thresholds of three classes, a clean-up, connected parts and their outline."""
    smooth = scipy.ndimage.gaussian_filter(reduced, 1.5)
    low, high = skimage.filters.threshold_multiotsu(smooth, 3, nbins=128)
    inside = (smooth < high) & (smooth > 0.02 * smooth.max())
    inside = scipy.ndimage.binary_closing(scipy.ndimage.binary_opening(inside, iterations=2), iterations=2)
    labels, count = scipy.ndimage.label(inside)
    if count == 0:
        return inside, 0.0
    sizes = numpy.bincount(labels.ravel())
    part = labels == sizes[1:].argmax() + 1
    cv2.findContours(part.astype(numpy.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    return part, float((part & (smooth < low)).sum() / max(1, part.sum()))


def exposure(reduced, part):
    values = reduced[part]
    return (float(numpy.median(values)), float(values.mean())) if values.size else (0.0, 0.0)


def mottle(pixels):
    return float(skimage.restoration.estimate_sigma(pixels))


def clipping_and_display(pixels, reduced, part):
    """Shares at both ends, percentiles of what is shown, and the halo that edge enhancement leaves."""
    counts = numpy.bincount(pixels.ravel(), minlength=65536)
    share = numpy.cumsum(counts) / pixels.size
    halo = float((reduced - cv2.GaussianBlur(reduced, (0, 0), 2))[part].std()) if part.any() else 0.0
    return int(counts[0]), int(counts[65535]), [int(x) for x in numpy.searchsorted(share, [0.05, 0.95])], halo


def sharpness(pixels, part, edges=60, half=24):
    """Profiles across the steepest places within the anatomy, each fitted by the error function, by direction."""
    smooth = cv2.GaussianBlur(pixels.astype(numpy.float32), (0, 0), 1.5)
    across = cv2.Sobel(smooth, cv2.CV_32F, 1, 0)
    down = cv2.Sobel(smooth, cv2.CV_32F, 0, 1)
    relative = cv2.magnitude(across, down) / (smooth + 1)
    inner = cv2.erode(part.astype(numpy.uint8), numpy.ones((3, 3), numpy.uint8))
    mask = cv2.resize(inner, pixels.shape[::-1], interpolation=cv2.INTER_NEAREST)
    relative *= mask
    tile = 64
    rows, columns = (size // tile * tile for size in pixels.shape)
    tiles = relative[:rows, :columns].reshape(rows // tile, tile, columns // tile, tile).transpose(0, 2, 1, 3).reshape(-1, tile * tile)
    best = tiles.argmax(axis=1)
    order = numpy.argsort(-tiles[numpy.arange(len(tiles)), best])[:edges]
    found = []
    steps = numpy.arange(-half, half + 1, dtype=numpy.float64)

    def edge(x, low, high, middle, width):
        return low + (high - low) * 0.5 * (1 + scipy.special.erf((x - middle) / (numpy.sqrt(2) * width)))

    for index in order:
        row = index // (columns // tile) * tile + best[index] // tile
        column = index % (columns // tile) * tile + best[index] % tile
        gx, gy = float(across[row, column]), float(down[row, column])
        length = numpy.hypot(gx, gy)
        if length == 0:
            continue
        gx, gy = gx / length, gy / length
        beside = numpy.arange(-4, 5)[:, None]
        profile = scipy.ndimage.map_coordinates(
            pixels, [row + gy * steps + gx * beside, column + gx * steps - gy * beside], order=1, output=numpy.float64, mode="nearest"
        ).mean(axis=0)
        try:
            fit, _ = scipy.optimize.curve_fit(edge, steps, profile, p0=[profile[0], profile[-1], 0, 3], maxfev=200)
            found.append((abs(float(fit[3])), float(numpy.degrees(numpy.arctan2(gy, gx)) % 180)))
        except RuntimeError:
            pass
    if not found:
        return None
    widths = numpy.array([width for width, _ in found])
    return float(numpy.percentile(widths, 20)), len(found)


def letter_templates(side=28, turns=24):
    """L and R, seen from the front and from behind, at every 15 degrees."""
    templates = []
    for letter in "LR":
        drawn = numpy.zeros((2 * side, 2 * side), numpy.uint8)
        (width, height), _ = cv2.getTextSize(letter, cv2.FONT_HERSHEY_SIMPLEX, 1.2, 4)
        cv2.putText(drawn, letter, ((2 * side - width) // 2, (2 * side + height) // 2), cv2.FONT_HERSHEY_SIMPLEX, 1.2, 255, 4, cv2.LINE_AA)
        for mirrored in (False, True):
            face = drawn[:, ::-1] if mirrored else drawn
            for turn in range(turns):
                around = cv2.getRotationMatrix2D((side - 0.5, side - 0.5), -360 / turns * turn, 1)
                turned = cv2.warpAffine(numpy.ascontiguousarray(face), around, (2 * side, 2 * side), flags=cv2.INTER_LINEAR)
                ys, xs = numpy.nonzero(turned > 40)
                cut = turned[ys.min() : ys.max() + 1, xs.min() : xs.max() + 1]
                templates.append(((letter, mirrored, 360 / turns * turn), cv2.resize(cut, (side, side), interpolation=cv2.INTER_AREA).astype(numpy.float32)))
    return templates


TEMPLATES = letter_templates()


def markers(pixels, spacing, side=28):
    """What stands out against its surroundings and has a letter's size, against turned and mirrored letters by matchTemplate."""
    step = max(1, int(round(0.4 / spacing)))
    reduced = block_means(pixels, step)
    scale = 1 / (step * spacing)
    signal = numpy.log(reduced + 1)
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (int(12 * scale) | 1,) * 2)
    stands = cv2.morphologyEx(-signal, cv2.MORPH_TOPHAT, kernel)
    count, labels, stats, centres = cv2.connectedComponentsWithStats((stands > 0.4).astype(numpy.uint8))
    found = []
    for index in range(1, count):
        x, y, width, height, area = stats[index]
        longest = max(width, height)
        if not 5 * scale < longest < 30 * scale or area < 0.08 * width * height:
            continue
        face = cv2.resize((labels[y : y + height, x : x + width] == index).astype(numpy.float32) * 255, (side, side), interpolation=cv2.INTER_AREA)
        face = cv2.copyMakeBorder(face, 2, 2, 2, 2, cv2.BORDER_CONSTANT)
        best = max(((float(cv2.matchTemplate(face, template, cv2.TM_CCOEFF_NORMED).max()), name) for name, template in TEMPLATES), key=lambda pair: pair[0])
        if best[0] > 0.6:
            found.append((best, (float(centres[index][0] * step), float(centres[index][1] * step))))
    return found


def artifacts(pixels, reduced, spacing):
    """Grid lines by spectra, dead elements by a median filter, dead lines and gain steps by row and column means, dense objects by a top-hat, cut-off by a plane."""
    lines = []
    log = cv2.log(pixels.astype(numpy.float32) + 1)
    rows, columns = pixels.shape
    size = min(512, rows // 2, columns // 2)
    window = numpy.outer(numpy.hanning(size), numpy.hanning(size)).astype(numpy.float32)
    power = 0
    for top in (rows // 2 - size, rows // 2):
        for left in (columns // 2 - size, columns // 2):
            tile = log[top : top + size, left : left + size]
            power = power + numpy.abs(scipy.fft.rfft2((tile - cv2.GaussianBlur(tile, (0, 0), 6)) * window)) ** 2
    along = power[:4, :].sum(axis=0)
    peaks, _ = scipy.signal.find_peaks(along, height=12 * numpy.median(along))
    lines.extend(float(peak / size / spacing) for peak in peaks)
    down = power[:, :4].sum(axis=1)[: size // 2]
    peaks, _ = scipy.signal.find_peaks(down, height=12 * numpy.median(down))
    lines.extend(float(peak / size / spacing) for peak in peaks)
    calm = cv2.medianBlur(pixels, 5)
    off = cv2.absdiff(pixels, calm)
    limit = 12 * 1.4826 * float(numpy.median(off[::7, ::7])) + 1
    dead = cv2.threshold(off, limit, 1, cv2.THRESH_BINARY)[1]
    by_column = cv2.reduce(log, 0, cv2.REDUCE_AVG).ravel()
    by_row = cv2.reduce(log, 1, cv2.REDUCE_AVG).ravel()
    steps = []
    for means in (by_column, by_row):
        residue = means - scipy.ndimage.median_filter(means, 9)
        steps.append(int((numpy.abs(residue) > 8 * 1.4826 * numpy.median(numpy.abs(residue)) + 1e-6).sum()))
        kernel = numpy.r_[-numpy.ones(20), numpy.ones(20)] / 20
        steps.append(int(numpy.abs(numpy.convolve(means, kernel, "same")).argmax()))
    small = numpy.log(reduced + 1)
    hat = cv2.morphologyEx(-small, cv2.MORPH_TOPHAT, cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (15, 15)))
    count, _, stats, _ = cv2.connectedComponentsWithStats((hat > 0.5).astype(numpy.uint8))
    y, x = numpy.mgrid[: reduced.shape[0], : reduced.shape[1]].astype(numpy.float32)
    bright = reduced > numpy.percentile(reduced, 60)
    plane, *_ = numpy.linalg.lstsq(numpy.stack([x[bright], y[bright], numpy.ones(int(bright.sum()))], axis=1), small[bright], rcond=None)
    return lines[:6], int(dead.sum()), steps, int((stats[1:, 4] > 6).sum()), [float(v) for v in plane[:2]]


def processing(pixels):
    """Regions of one exact value, gaps in the histogram, and the seams of 8 × 8 blocks."""
    counts = numpy.bincount(pixels.ravel(), minlength=65536)
    used = numpy.nonzero(counts)[0]
    gaps = 1 - len(used) / max(1, used[-1] - used[0] + 1)
    most = int(counts.argmax())
    flat = int(cv2.connectedComponentsWithStats((pixels == most).astype(numpy.uint8))[2][1:, 4].max()) if counts[most] > 1 else 0
    band = pixels[::5].astype(numpy.int32)
    difference = numpy.abs(numpy.diff(band, axis=1)).mean(axis=0)
    seams = [float(difference[k::8].mean()) for k in range(8)]
    return gaps, flat, max(seams) / max(1e-9, statistics.median(seams))


def main():
    path = sys.argv[1]
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 15
    times = {}
    processor = {}
    found = {}

    def timed(name, work, *arguments):
        start, used = time.perf_counter(), time.process_time()
        result = work(*arguments)
        times.setdefault(name, []).append(1000 * (time.perf_counter() - start))
        processor.setdefault(name, []).append(1000 * (time.process_time() - used))
        return result

    for index in range(rounds + 2):
        if index == 2:
            times.clear()
            processor.clear()
        start, used = time.perf_counter(), time.process_time()
        pixels, spacing = timed("read", read, path)
        reduced, lines, _ = timed("field", field, pixels)
        part, bone = timed("anatomy", anatomy, reduced)
        found["exposure"] = timed("exposure", exposure, reduced, part)
        found["mottle"] = timed("mottle", mottle, pixels)
        found["clipping and display"] = timed("clipping and display", clipping_and_display, pixels, reduced, part)
        found["sharpness"] = timed("sharpness", sharpness, pixels, part)
        found["markers"] = [[round(best[0], 2), *best[1], *place] for best, place in timed("markers", markers, pixels, spacing)]
        found["artifacts"] = timed("artifacts", artifacts, pixels, reduced, spacing)
        found["processing"] = timed("processing", processing, pixels)
        times.setdefault("read + measure", []).append(1000 * (time.perf_counter() - start))
        processor.setdefault("read + measure", []).append(1000 * (time.process_time() - used))
        found["field and anatomy"] = [lines, float(part.mean()), bone]
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
            "processorMs": {name: statistics.mean(values) for name, values in processor.items()},
            "found": found,
        },
        sys.stdout,
    )


main()
