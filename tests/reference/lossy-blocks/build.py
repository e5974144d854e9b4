"""Small pictures by other authors' encoders and resamplers.

Writes beside this file: plain.png (a drawn gradient with noise), quality-90.jpg, quality-75.jpg and quality-50.jpg (the same by libjpeg through Pillow, 4:4:4 does not matter in grey),
enlarged-1.5.png and enlarged-2.png (the same drawn smaller and enlarged by OpenCV, bilinear). Needs numpy, Pillow and OpenCV; the tests need only the files.
"""
import pathlib

import cv2
import numpy
import PIL.Image

SIDE = 320
HERE = pathlib.Path(__file__).parent


def drawn(side, seed):
    random = numpy.random.Generator(numpy.random.PCG64(seed))
    y, x = numpy.mgrid[0:side, 0:side] / side
    shape = 60 + 90 * x + 30 * numpy.sin(5 * y) * numpy.cos(4 * x)
    noise = cv2.GaussianBlur(random.normal(0, 9, (side, side)), (0, 0), 0.6)
    return numpy.clip(numpy.rint(shape + noise), 0, 255).astype(numpy.uint8)


def main():
    picture = PIL.Image.fromarray(drawn(SIDE, 5))
    picture.save(HERE / "plain.png", optimize=True)
    for quality in (90, 75, 50):
        picture.save(HERE / f"quality-{quality}.jpg", quality=quality)
    for factor in (1.5, 2):
        small = drawn(int(SIDE / factor), 6)
        large = cv2.resize(small, None, fx=factor, fy=factor, interpolation=cv2.INTER_LINEAR)
        PIL.Image.fromarray(large).save(HERE / f"enlarged-{factor:g}.png", optimize=True)
    (HERE / "VERSION").write_text(f"numpy {numpy.__version__}, Pillow {PIL.__version__}, OpenCV {cv2.__version__}\n")


main()
