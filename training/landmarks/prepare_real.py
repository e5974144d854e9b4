#!/usr/bin/env python3
"""Radiographs marked by eye, made small: prepare_real.py --radiographs FOLDER --out real.npz (numpy, OpenCV).

real-marks.tsv holds the marks. Chest radiographs whose SHA-1 of the patient's part of the file name begins with 0 to 7
are learnt from (tuning); all others are for the check alone.
"""
import argparse, collections, csv, hashlib, os
import cv2
import numpy as np

SIDE = 256
EXAM = {'chest-pa': 'chest', 'elbow-lateral': 'elbow', 'ankle-ap': 'ankle', 'ankle-mortise': 'ankle', 'knee-ap': 'knee'}
ap = argparse.ArgumentParser()
ap.add_argument('--radiographs', required=True); ap.add_argument('--out', required=True)
args = ap.parse_args()
marks = collections.defaultdict(dict); exam = {}
with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), 'real-marks.tsv')) as f:
    for row in csv.DictReader(f, delimiter='\t'):
        marks[row['file']][row['point']] = (float(row['x_px']), float(row['y_px'])); exam[row['file']] = EXAM[row['projection']]
points = sorted({p for each in marks.values() for p in each})


def is_tuning(file):
    """Exposures of one patient stay together."""
    patient = file.rsplit('_', 1)[0] if 'nih' in file else file
    return exam[file] == 'chest' and hashlib.sha1(patient.encode()).hexdigest()[0] in '01234567'


files = sorted(marks); pictures, places, sizes = [], [], []
for file in files:
    image = cv2.imread(os.path.join(args.radiographs, file), cv2.IMREAD_UNCHANGED)
    image = image if image.ndim == 2 else cv2.cvtColor(image[:, :, :3], cv2.COLOR_BGR2GRAY)
    image = (image / 257).astype(np.uint8) if image.dtype == np.uint16 else image
    rows, columns = image.shape; scale = SIDE / max(rows, columns)
    small = cv2.resize(image, (round(columns * scale), round(rows * scale)), interpolation=cv2.INTER_AREA)
    top, left = (SIDE - small.shape[0]) // 2, (SIDE - small.shape[1]) // 2
    square = np.zeros((SIDE, SIDE), np.uint8); square[top:top + small.shape[0], left:left + small.shape[1]] = small
    at = np.full((len(points), 2), np.nan, np.float32)
    for name, (x, y) in marks[file].items():
        at[points.index(name)] = ((x + .5) * small.shape[1] / columns - .5 + left, (y + .5) * small.shape[0] / rows - .5 + top)
    pictures.append(square); places.append(at); sizes.append((small.shape[0], small.shape[1], columns))
np.savez_compressed(args.out, files=np.array(files), exam=np.array([exam[f] for f in files]), tuning=np.array([is_tuning(f) for f in files]),
                    points=np.array(points), pictures=np.array(pictures), places=np.array(places), sizes=np.array(sizes))
print(len(files), 'radiographs,', sum(is_tuning(f) for f in files), 'for tuning')
