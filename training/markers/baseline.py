"""The classical reader that the network has to beat: normalised correlation with turned templates.

    python3 baseline.py --stamps stamps.npz --check check.npz

check.npz is what train.py leaves: patches around the finder's proposals in scenes of fonts kept apart, and what they are.
Templates are block letters L and R of fonts that were learnt from, mirrored or not, turned by 7.5 degrees, at three sizes, shifted
by up to 4 samples; the best correlation of either sign decides. The threshold is set on the first half of the patches, the figures
are of the second half.
"""

import argparse

import cv2
import numpy as np


def templates(stamps, letters, count):
    found = []
    rng = np.random.default_rng(5)
    for letter in (1, 2):
        plain = [s[0] for s, k in zip(stamps, letters) if k == letter and s[1].max() == 0]
        for at in rng.choice(len(plain), count, replace=False):
            for mirrored in (0, 1):
                image = plain[at][:, ::-1] if mirrored else plain[at]
                for size in (19, 22, 25):
                    for degrees in np.arange(0, 360, 7.5):
                        # cv2 turns anticlockwise for a positive angle; a clockwise one is wanted.
                        m = cv2.getRotationMatrix2D((79.5, 79.5), -degrees, size / 64)
                        m[:, 2] += 19.5 - 79.5
                        turned = cv2.warpAffine(cv2.GaussianBlur(image, (0, 0), 1.2), m, (40, 40), flags=cv2.INTER_AREA)
                        found.append((letter + 2 * mirrored, degrees, turned.astype(np.float32)))
    return found


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--stamps", required=True)
    parser.add_argument("--check", required=True)
    parser.add_argument("--patches", type=int, default=800)
    given = parser.parse_args()
    z = np.load(given.stamps)
    pool = templates(z["letters_learn"], z["letter_learn"], 4)
    check = np.load(given.check)
    keep = check["aims"][:, 0] >= 0
    patches, aims = check["patches"][keep][: given.patches].astype(np.float32), check["aims"][keep][: given.patches]
    best = np.zeros(len(patches))
    kind = np.zeros(len(patches), int)
    turn = np.zeros(len(patches))
    for n, patch in enumerate(patches):
        for k, degrees, template in pool:
            c = np.abs(cv2.matchTemplate(patch, template, cv2.TM_CCOEFF_NORMED)).max()
            if c > best[n]:
                best[n], kind[n], turn[n] = c, k, degrees
    half = len(patches) // 2
    truth = aims[:, 0].astype(int)
    accuracy = lambda t, part: np.mean(np.where(best[part] >= t, kind[part], 0) == truth[part])
    thresholds = np.linspace(0.3, 0.95, 66)
    t = max(thresholds, key=lambda v: accuracy(v, slice(0, half)))
    part = slice(half, None)
    says = np.where(best[part] >= t, kind[part], 0)
    real = truth[part]
    hits = (says > 0) & (real > 0)
    off = np.abs((turn[part][hits] - np.degrees(np.arctan2(aims[part][hits, 2], aims[part][hits, 1])) + 180) % 360 - 180)
    print(f"patches {len(real)}, threshold {t:.2f}: accuracy of five classes {np.mean(says == real):.3f}, recall {hits.sum() / max(1, (real > 0).sum()):.3f}, "
          f"precision {hits.sum() / max(1, (says > 0).sum()):.3f}, letter and way round right {np.mean(says[hits] == real[hits]):.3f}, rotation median {np.median(off):.1f} deg")


if __name__ == "__main__":
    main()
