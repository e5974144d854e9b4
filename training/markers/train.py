"""Trains the two small networks that find side markers, and writes them as ONNX.

    python3 train.py --data FOLDER --out FOLDER [--steps 12000]

FOLDER of data: what prepare.py wrote. Scenes are composed anew at every step: a background, letters and other dense shapes
over it, a field's edge, blur and noise. Network 1 (finder) looks at a reduced image and proposes places and heights;
network 2 (reader) looks at a normalised patch around each proposal and says L, R, mirrored L, mirrored R or neither,
with rotation, centre, height and the visible share. Seeds are fixed; sums on a GPU may still differ in the last digits,
so that a second training gives an equally good network, not the same bytes.
"""

import argparse
import json
import math
import os
import time

import numpy as np
import torch
import torch.nn as nn
import torch.nn.functional as F

TILE = 512  # fine pixels of a scene; two of them are one cell of the finder's image
PATCH = 48  # pixels of the reader's patch
SPAN = 2.2  # side of the patch in heights of the letter
STRIDE = 8  # cells of one place of the finder's answer
NORMAL = 41  # cells of the window of the finder's local normalisation
CAP = 64  # height of the letter in a stamp


def conv(i, o, k=3, s=1, d=1):
    return nn.Sequential(nn.Conv2d(i, o, k, s, d * (k // 2), d, bias=False), nn.BatchNorm2d(o), nn.ReLU())


class Finder(nn.Module):
    """Answers per place: marker or not, offset x, y in places, log of height over 24 cells, four classes (for training only)."""

    def __init__(self):
        super().__init__()
        self.body = nn.Sequential(conv(1, 8, 5, 2), conv(8, 16, 3, 2), conv(16, 24), conv(24, 48, 3, 2), conv(48, 48), conv(48, 48, 3, 1, 2), conv(48, 48, 3, 1, 4), conv(48, 48))
        self.head = nn.Conv2d(48, 8, 1)
        nn.init.constant_(self.head.bias[:1], -4.0)

    def forward(self, x):
        return self.head(self.body(x))


class Reader(nn.Module):
    """Answers per patch: none, L, R, mirrored L, mirrored R (logits); cos, sin of the rotation; offset x, y in heights; log height ratio; visible share."""

    def __init__(self):
        super().__init__()
        self.body = nn.Sequential(conv(1, 16), conv(16, 32, 3, 2), conv(32, 32), conv(32, 64, 3, 2), conv(64, 64), conv(64, 96, 3, 2), conv(96, 96), nn.Flatten(),
                                  nn.Dropout(0.1), nn.Linear(96 * 36, 128), nn.ReLU(), nn.Linear(128, 11))

    def forward(self, x):
        return self.body(x)


def blur(x, sigma):
    """Gaussian blur of (N,1,H,W), one sigma a sample, in pixels."""
    r = 4
    t = torch.arange(-r, r + 1, device=x.device, dtype=x.dtype)
    k = torch.exp(-0.5 * (t[None] / sigma[:, None].clamp(min=0.05)) ** 2)
    k = (k / k.sum(1, keepdim=True))
    n, _, h, w = x.shape
    y = F.conv2d(F.pad(x, (r, r, 0, 0), mode="replicate").transpose(0, 1), k[:, None, None, :], groups=n)
    y = F.conv2d(F.pad(y, (0, 0, r, r), mode="replicate"), k[:, None, :, None], groups=n)
    return y.transpose(0, 1)


def normalise(a, eps):
    """Local normalisation of the finder's image: minus the mean, over the standard deviation plus eps, in a window of NORMAL cells cut by the border."""
    pad = NORMAL // 2
    one = F.avg_pool2d(torch.ones_like(a[:1]), NORMAL, 1, pad)
    mean = F.avg_pool2d(a, NORMAL, 1, pad) / one
    square = F.avg_pool2d(a * a, NORMAL, 1, pad) / one
    return ((a - mean) / ((square - mean * mean).clamp(min=0).sqrt() + eps)).clamp(-5, 5)


class Scenes:
    def __init__(self, folder, device, part, seed):
        self.d = device
        self.rng = np.random.default_rng(seed)
        z = np.load(os.path.join(folder, "stamps.npz"))
        letters, others = z[f"letters_{part}"], z[f"others_{part}"]
        self.letter = z[f"letter_{part}"]
        s = torch.tensor(np.concatenate([letters, others]), device=device).float() / 255
        self.stamps = torch.stack([s, F.interpolate(F.avg_pool2d(s, 2), s.shape[-1], mode="bilinear", align_corners=False), F.interpolate(F.avg_pool2d(s, 4), s.shape[-1], mode="bilinear", align_corners=False)])
        self.ink = s[:, 0].sum((1, 2)).cpu().numpy()
        self.count = (len(letters), len(others))
        z = np.load(os.path.join(folder, "backgrounds.npz"))
        n = sum(k.startswith("image_") for k in z.files)
        self.images = [torch.tensor(z[f"image_{k}"], device=device) for k in range(n)]
        self.labels = [z[f"labels_{k}"] for k in range(n)]

    def background(self):
        """One tile and the markers that it already holds: (class or 0 for 'leave out', x, y, height, turn, mirrored)."""
        r = self.rng
        if r.random() < 0.1:
            v = torch.full((TILE, TILE), float(r.random()), device=self.d)
            if r.random() < 0.6:
                g = torch.linspace(-1, 1, TILE, device=self.d)
                v = v + float(r.normal(0, 0.2)) * g[None] + float(r.normal(0, 0.2)) * g[:, None]
            return v, []
        k = int(r.integers(len(self.images)))
        image = self.images[k].float()[None, None] / 255
        h, w = image.shape[2:]
        scale = math.exp(r.uniform(math.log(0.65), math.log(1.5)))  # source pixels a tile pixel
        turn = r.integers(4) * math.pi / 2 + (r.uniform(-math.pi, math.pi) if r.random() < 0.35 else r.normal(0, 0.03))
        flip = -1.0 if r.random() < 0.4 else 1.0
        c, s = math.cos(turn), math.sin(turn)
        m = scale * np.array([[c * flip, -s], [s * flip, c]])  # tile offset -> source offset
        reach = 0.35 * TILE * scale
        cx = r.uniform(min(reach, w / 2), max(w - reach, w / 2))
        cy = r.uniform(min(reach, h / 2), max(h - reach, h / 2))
        if len(self.labels[k]) and r.random() < 0.35:
            row = self.labels[k][int(r.integers(len(self.labels[k])))]
            cx, cy = row[1] + r.uniform(-150, 150) * scale, row[2] + r.uniform(-150, 150) * scale
        # grid_sample wants source places in -1..1
        t = torch.arange(TILE, device=self.d).float() - (TILE - 1) / 2
        gx = m[0, 0] * t[None] + m[0, 1] * t[:, None] + cx
        gy = m[1, 0] * t[None] + m[1, 1] * t[:, None] + cy
        grid = torch.stack([(2 * gx + 1) / w - 1, (2 * gy + 1) / h - 1], -1)[None]
        v = F.grid_sample(image, grid, mode="bilinear", padding_mode="border" if r.random() < 0.5 else "zeros", align_corners=False)[0, 0]
        inverse = np.linalg.inv(m)
        found = []
        for kind, x, y, height, degrees, mirrored in self.labels[k]:
            p = inverse @ np.array([x - cx, y - cy]) + (TILE - 1) / 2
            a = math.radians(degrees)
            g = inverse @ np.array([[math.cos(a) * (-1 if mirrored else 1), -math.sin(a)], [math.sin(a) * (-1 if mirrored else 1), math.cos(a)]])
            found.append((int(kind), p[0], p[1], height / scale, math.atan2(-g[0, 1], g[1, 1]), int(np.linalg.det(g) < 0), 1.0 if 0 <= p[0] < TILE and 0 <= p[1] < TILE else 0.0))
        return v, found

    def cut(self, v):
        """Lines beyond which nothing, or only a little, was exposed. Returns the tile and what stays visible."""
        r = self.rng
        t = torch.arange(TILE, device=self.d).float()
        visible = torch.ones_like(v)
        for _ in range(int(r.integers(1, 3))):
            a = r.integers(4) * math.pi / 2 + r.normal(0, 0.08)
            rho = r.uniform(60, 250)
            d = (t[None] - TILE / 2) * math.cos(a) + (t[:, None] - TILE / 2) * math.sin(a) - rho
            visible = visible * torch.sigmoid(-d / float(r.choice([0.2, 1.0, 2.5])))
        low = float(r.choice([0, 0, 1, r.random()]))
        leak = float(r.choice([0, 0, 0.1, 0.3]))
        return v * visible + (1 - visible) * (low * (1 - leak) + leak * v), visible

    def batch(self, n):
        r = self.rng
        tiles, known, first, masks = [], [], [], []
        for k in range(n):
            v, found = self.background()
            visible = torch.ones_like(v)
            after = r.random() < 0.6
            if r.random() < 0.35:
                cut, seen = self.cut(v)
                if not after:
                    v = cut
                    found = [f if seen[int(min(max(f[2], 0), TILE - 1)), int(min(max(f[1], 0), TILE - 1))] > 0.9 else (0, *f[1:]) for f in found]
                else:
                    visible = seen
            tiles.append(v)
            known.append(found)
            masks.append(visible)
        v = torch.stack(tiles)[:, None]
        visible = torch.stack(masks)[:, None]
        level = F.avg_pool2d(F.pad(v, (8, 8, 8, 8), mode="replicate"), 17, 1)
        slots = 7
        placed = [[(f[1], f[2], 0.8 * f[3]) for f in known[k]] for k in range(n)]
        truth = [list(known[k]) for k in range(n)]
        for slot in range(slots):
            pick, theta, gains = [], [], []
            fresh = []
            for k in range(n):
                positive = slot < 3
                on = r.random() < (0.55 if positive else 0.45)
                height = math.exp(r.uniform(math.log(18), math.log(120))) * (1 if positive or r.random() < 0.7 else r.uniform(1, 3))
                x, y = r.uniform(-5, TILE + 5, 2)
                reach = (0.8 if positive else 1.0) * height
                if on and any((x - a) ** 2 + (y - b) ** 2 < (reach + c) ** 2 for a, b, c in placed[k]):
                    on = False
                turn = r.integers(4) * math.pi / 2 * (r.random() < 0.4) + (r.uniform(-math.pi, math.pi) if r.random() < 0.5 else r.normal(0, 0.1))
                mirrored = r.random() < 0.35
                which = int(r.integers(self.count[0])) if positive else self.count[0] + int(r.integers(self.count[1]))
                pick.append((0 if height > 48 else 1 if height > 26 else 2, which))
                # stamp place = mirror * rotate(-turn) * (tile - centre) * CAP / height
                q = CAP / height
                c, s = math.cos(turn), math.sin(turn)
                f = -1 if mirrored else 1
                theta.append((q * c * f, q * s * f, -q * s, q * c, x, y))
                here = float(level[k, 0, int(min(max(y, 0), TILE - 1)), int(min(max(x, 0), TILE - 1))]) if on else 0.5
                way = r.random()
                value = r.uniform(0.7, 1.15) if way < 0.65 else r.uniform(-0.1, 0.2) if way < 0.8 else here + r.choice([-1, 1]) * r.uniform(0.08, 0.4)
                alpha = r.uniform(0.5, 1.0)
                if alpha * abs(value - here) < 0.06:
                    value = here + 0.15 / alpha * (1 if here < 0.5 else -1)
                opaque = r.random() < 0.4
                plate_value = r.random() if opaque else here + r.normal(0, 0.12)
                plate_alpha = r.uniform(0.9, 1) if opaque else r.uniform(0.1, 0.5)
                if opaque and abs(plate_value - value) < 0.1:
                    plate_value = value - 0.2 if value > 0.5 else value + 0.2
                cut_out = r.random() < 0.12
                gains.append((float(on), value, alpha, plate_value, plate_alpha, float(cut_out), 0.3 + abs(r.normal(0, 1.0)) * height / 60))
                if on:
                    placed[k].append((x, y, reach))
                    if positive:
                        fresh.append((k, int(self.letter[which]), x, y, height, math.atan2(s, c), int(mirrored), self.ink[which] / (q * q)))
            p = torch.tensor(pick, device=self.d)
            stamp = self.stamps[p[:, 0], p[:, 1]]
            th = torch.tensor(theta, device=self.d, dtype=torch.float32)
            t = torch.arange(TILE, device=self.d).float()
            dx = t[None, None] - th[:, 4, None, None]
            dy = t[None, :, None] - th[:, 5, None, None]
            gx = th[:, 0, None, None] * dx + th[:, 1, None, None] * dy
            gy = th[:, 2, None, None] * dx + th[:, 3, None, None] * dy
            half = stamp.shape[-1] / 2
            drawn = F.grid_sample(stamp, torch.stack([gx / half, gy / half], -1), align_corners=False)
            g = torch.tensor(gains, device=self.d, dtype=torch.float32)
            col = lambda i: g[:, i, None, None, None]
            ink, plate = blur(drawn[:, :1], g[:, 6].clamp(max=2)), blur(drawn[:, 1:], g[:, 6].clamp(max=2))
            has_plate = (plate.amax((1, 2, 3), keepdim=True) > 0.5).float()
            out = col(5) * has_plate  # a letter cut out of the plate
            ink = ink * (1 - out) + out * (plate - ink).clamp(min=0)
            plate = plate * (1 - out)
            v = v + col(0) * plate * col(4) * (col(3) - v)
            v = v + col(0) * ink * col(2) * (col(1) - v)
            seen = (drawn[:, :1] * visible).sum((1, 2, 3)).cpu().numpy()
            for k, kind, x, y, height, turn, mirrored, ink_area in fresh:
                truth[k].append((kind, x, y, height, turn, mirrored, float(seen[k] / max(1, ink_area))))
        # what lies beyond the field's edge, then noise and the curve
        low = torch.tensor(r.choice([0, 0, 1, 0.5], n), device=self.d, dtype=torch.float32)[:, None, None, None]
        v = v * visible + (1 - visible) * low
        noise = torch.randn_like(v)
        noise = torch.where(torch.tensor(r.random(n) < 0.5, device=self.d)[:, None, None, None], noise, 2.2 * blur(noise, torch.full((n,), 0.9, device=self.d)))
        v = v + noise * torch.tensor(np.abs(r.normal(0, 0.015, n)), device=self.d, dtype=torch.float32)[:, None, None, None] * (visible + 0.2)
        low, high = v.amin((1, 2, 3), keepdim=True), v.amax((1, 2, 3), keepdim=True)
        v = ((v - low) / (high - low + 1e-3)).clamp(0, 1) ** torch.tensor(np.exp(r.normal(0, 0.3, n)), device=self.d, dtype=torch.float32)[:, None, None, None]
        flip = torch.tensor(r.random(n) < 0.4, device=self.d)[:, None, None, None]
        return torch.where(flip, 1 - v, v), truth


def unchanged(batch):
    return batch


class Stream(torch.utils.data.IterableDataset):
    """Endless batches of scenes, each worker with a seed of its own."""

    def __init__(self, folder, device):
        self.folder, self.device = folder, device

    def __iter__(self):
        info = torch.utils.data.get_worker_info()
        number = info.id if info else 0
        torch.manual_seed(100 + number)
        torch.set_num_threads(1)
        scenes = Scenes(self.folder, self.device, "learn", 100 + number)
        while True:
            v, truth = scenes.batch(32)
            yield v.half().cpu(), truth


def patches(v, rows, rng):
    """The reader's patches. rows: (tile, x, y, height) in fine pixels."""
    rows = torch.tensor(rows, device=v.device, dtype=torch.float32)
    t = (torch.arange(3 * PATCH, device=v.device).float() - (3 * PATCH - 1) / 2) / (3 * PATCH)
    side = SPAN * rows[:, 3]
    gx = rows[:, 1, None, None] + side[:, None, None] * t[None, None, :]
    gy = rows[:, 2, None, None] + side[:, None, None] * t[None, :, None]
    grid = torch.stack([(2 * gx + 1).expand(-1, 3 * PATCH, -1) / TILE - 1, (2 * gy + 1).expand(-1, -1, 3 * PATCH) / TILE - 1], -1)
    tile = rows[:, 0].long()
    out = torch.empty(len(rows), 1, PATCH, PATCH, device=v.device)
    for k in range(v.shape[0]):
        at = (tile == k).nonzero()[:, 0]
        if len(at):
            g = grid[at].reshape(1, -1, 3 * PATCH, 2)
            p = F.grid_sample(v[k:k + 1], g, padding_mode="border", align_corners=False).reshape(len(at), 1, 3 * PATCH, 3 * PATCH)
            out[at] = F.avg_pool2d(p, 3)
    mean = out.mean((2, 3), keepdim=True)
    std = out.std((2, 3), keepdim=True, unbiased=False)
    eps = 0.004 * torch.tensor(rng.uniform(0.5, 2, len(rows)), device=v.device, dtype=torch.float32)[:, None, None, None]
    return ((out - mean) / (std + eps)).clamp(-5, 5)


def finder_targets(truth, device):
    n, side = len(truth), TILE // 2 // STRIDE
    heat = np.zeros((n, side, side), np.float32)
    weight = np.ones_like(heat)
    reg = []
    yy, xx = np.mgrid[:side, :side]
    for k, marks in enumerate(truth):
        for kind, x, y, height, turn, mirrored, seen in marks:
            cx, cy, h = (x - 0.5) / 2 / STRIDE, (y - 0.5) / 2 / STRIDE, height / 2
            d2 = (xx + 0.5 - 0.5 / STRIDE - cx) ** 2 + (yy + 0.5 - 0.5 / STRIDE - cy) ** 2
            if kind == 0 or 0.2 < seen < 0.55:
                weight[k][d2 < max(1.0, 0.7 * h / STRIDE) ** 2] = 0
            elif seen >= 0.55:
                i, j = np.unravel_index(np.argmin(d2), d2.shape)
                sigma = max(0.6, h / STRIDE / 5)
                heat[k] = np.maximum(heat[k], 0.98 * np.exp(-d2 / (2 * sigma ** 2)))
                heat[k, i, j] = 1
                for a in (-1, 0, 1):
                    for b in (-1, 0, 1):
                        if 0 <= i + a < side and 0 <= j + b < side:
                            reg.append((k, i + a, j + b, cx - (j + b), cy - (i + a), math.log(h / 24), (kind - 1) + 2 * mirrored))
    return torch.tensor(heat, device=device), torch.tensor(weight, device=device), torch.tensor(np.array(reg, np.float32).reshape(-1, 7), device=device)


def proposals(answer, most):
    """(tile, x, y, height) in fine pixels and score of the highest local maxima of the finder's answer."""
    score = torch.sigmoid(answer[:, 0])
    top = (score == F.max_pool2d(score[:, None], 3, 1, 1)[:, 0]) * score
    value, at = top.flatten(1).topk(most)
    side = score.shape[-1]
    k = torch.arange(len(score), device=score.device)[:, None].expand_as(at)
    i, j = at // side, at % side
    dx, dy, lh = (answer[k, c, i, j] for c in (1, 2, 3))
    x, y = (j + dx) * STRIDE * 2 + 0.5, (i + dy) * STRIDE * 2 + 0.5
    h = 48 * torch.exp(lh.clamp(-1.6, 1.6))
    return torch.stack([k.float(), x, y, h, value], -1).reshape(-1, 5).detach().cpu().numpy()


def reader_samples(found, truth, rng, jitter=True):
    """Rows for patches and what they are; a row with class -1 is left out of the loss."""
    rows, aims = [], []

    def add(k, x, y, h):
        best = None
        doubtful = False
        for m in truth[k]:
            d = math.hypot(m[1] - x, m[2] - y) / m[3]
            if m[0] == 0 or 0.2 < m[6] < 0.5:
                doubtful |= d < 1.0
            elif m[6] >= 0.5:
                if d < 0.4 and 0.62 < h / m[3] < 1.6:
                    best = m if best is None or d < math.hypot(best[1] - x, best[2] - y) / best[3] else best
                elif d < 0.9:
                    doubtful = True
        rows.append((k, x, y, h))
        if best is not None:
            aims.append((best[0] + 2 * best[5], math.cos(best[4]), math.sin(best[4]), (best[1] - x) / h, (best[2] - y) / h, math.log(best[3] / h), min(1, best[6])))
        else:
            aims.append((-1 if doubtful else 0, 0, 0, 0, 0, 0, 0))
    for k, x, y, h, value in found:
        if value > 0.01:
            s = math.exp(rng.normal(0, 0.08)) if jitter else 1
            add(int(k), x, y, h * s)
    if jitter:
        for k, marks in enumerate(truth):
            for m in marks:
                if m[0] and m[6] >= 0.5 and rng.random() < 0.7:
                    add(k, m[1] + rng.normal(0, 0.1) * m[3], m[2] + rng.normal(0, 0.1) * m[3], m[3] * math.exp(rng.normal(0, 0.15)))
            add(k, *rng.uniform(0, TILE, 2), math.exp(rng.uniform(math.log(18), math.log(120))))
    return rows, np.array(aims, np.float32).reshape(-1, 7)


def check(finder, reader, scenes, n, keep=None):
    """Recall of the finder, precision and recall of both, class, mirror and rotation, over scenes of fonts kept apart."""
    finder.eval(), reader.eval()
    hits = truths = right = wrong = proposed = kinds = 0
    turns, kept = [], []
    with torch.no_grad():
        for _ in range(n):
            v, truth = scenes.batch(16)
            a = F.avg_pool2d(v, 2)
            found = proposals(finder(normalise(a, 0.01)), 10)
            found = found[found[:, 4] > 0.05]
            marks = [(k, m) for k, t in enumerate(truth) for m in t if m[0] and m[6] > 0.9]
            doubt = [(k, m) for k, t in enumerate(truth) for m in t if m[0] == 0 or m[6] <= 0.9]
            truths += len(marks)
            near = lambda k, x, y, h, m: math.hypot(m[1] - x, m[2] - y) < 0.5 * m[3]
            proposed += sum(any(int(f[0]) == k and near(k, f[1], f[2], f[3], m) for f in found) for k, m in marks)
            if not len(found):
                continue
            rows, aims = reader_samples(found, truth, scenes.rng, jitter=False)
            p = patches(v, rows, scenes.rng)
            if keep is not None:
                kept.append((p[:, 0].cpu().numpy().astype(np.float16), aims))
            o = reader(p).cpu()
            prob = o[:, :5].softmax(1).numpy()
            taken = set()
            for row, q, rest in sorted(zip(rows, prob, o[:, 5:].numpy()), key=lambda t: t[1][0]):
                if 1 - q[0] < 0.5:
                    continue
                mark = [(k, m) for k, m in marks if k == row[0] and near(k, row[1], row[2], row[3], m)]
                if mark:
                    k, m = mark[0]
                    if (k, m[1]) in taken:
                        continue
                    taken.add((k, m[1]))
                    hits += 1
                    best = 1 + int(q[1:].argmax())
                    kinds += best == m[0] + 2 * m[5]
                    turns.append(abs((math.atan2(rest[1], rest[0]) - m[4] + math.pi) % (2 * math.pi) - math.pi))
                elif not any(k == row[0] and near(k, row[1], row[2], row[3], m) for k, m in doubt):
                    wrong += 1
    if keep is not None:
        np.savez_compressed(keep, patches=np.concatenate([p for p, _ in kept]), aims=np.concatenate([a for _, a in kept]))
    finder.train(), reader.train()
    turns = np.degrees(np.array(turns or [0]))
    return dict(markers=truths, proposed=round(proposed / max(1, truths), 4), recall=round(hits / max(1, truths), 4), precision=round(hits / max(1, hits + wrong), 4), kind=round(kinds / max(1, hits), 4),
                turn_median=round(float(np.median(turns)), 2), turn_95=round(float(np.percentile(turns, 95)), 2))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--data", required=True)
    parser.add_argument("--out", required=True)
    parser.add_argument("--steps", type=int, default=12000)
    parser.add_argument("--workers", type=int, default=8)
    parser.add_argument("--seconds", type=float, default=1e9, help="ends the training earlier; the rate falls with the time then")
    given = parser.parse_args()
    torch.manual_seed(20261126)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    os.makedirs(given.out, exist_ok=True)
    stream = iter(torch.utils.data.DataLoader(Stream(given.data, device), batch_size=None, collate_fn=unchanged, num_workers=given.workers, prefetch_factor=3, multiprocessing_context="spawn", pin_memory=False))
    rng = np.random.default_rng(1)
    finder, reader = Finder().to(device), Reader().to(device)
    parameters = [*finder.parameters(), *reader.parameters()]
    best = torch.optim.AdamW(parameters, lr=2e-3, weight_decay=1e-3)
    begin, step = time.time(), 0
    while step < given.steps and time.time() - begin < given.seconds:
        done = max(step / given.steps, (time.time() - begin) / given.seconds)
        for group in best.param_groups:
            group["lr"] = 2e-3 * min(1, (step + 1) / 200) * (0.5 * (1 + math.cos(math.pi * min(1, done))) + 0.005)
        v, truth = next(stream)
        v = v.to(device).float()
        a = F.avg_pool2d(v, 2)
        eps = torch.tensor(np.exp(rng.uniform(math.log(0.005), math.log(0.03), len(v))), device=device, dtype=torch.float32)[:, None, None, None]
        answer = finder(normalise(a, eps))
        heat, weight, reg = finder_targets(truth, device)
        p = torch.sigmoid(answer[:, 0]).clamp(1e-5, 1 - 1e-5)
        positive = (heat == 1).float() * weight
        focal = -(positive * (1 - p) ** 2 * p.log() + (1 - positive) * weight * (1 - heat) ** 4 * p ** 2 * (1 - p).log()).sum() / positive.sum().clamp(min=1)
        k, i, j = (reg[:, c].long() for c in range(3))
        at = answer[k, :, i, j]
        place = F.smooth_l1_loss(at[:, 1:4], reg[:, 3:6], beta=0.1) + 0.3 * F.cross_entropy(at[:, 4:8], reg[:, 6].long()) if len(reg) else 0
        rows, aims = reader_samples(proposals(answer, 8), truth, rng)
        aims = torch.tensor(aims, device=device)
        use = (aims[:, 0] >= 0).nonzero()[:, 0]
        x = patches(v, [rows[q] for q in use.cpu().numpy()], rng)
        aims = aims[use]
        o = reader(x)
        marker = aims[:, 0] > 0
        read = F.cross_entropy(o[:, :5], aims[:, 0].long(), label_smoothing=0.01)
        fit = F.smooth_l1_loss(o[marker, 5:7], aims[marker, 1:3], beta=0.05) + 2 * F.smooth_l1_loss(o[marker, 7:10], aims[marker, 3:6], beta=0.05) + 0.5 * F.smooth_l1_loss(o[marker, 10], aims[marker, 6], beta=0.1) if marker.any() else 0
        loss = focal + place + 2 * read + fit
        best.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(parameters, 5.0)
        best.step()
        step += 1
        if step % 250 == 0:
            print(step, round(time.time() - begin), "finder", round(focal.item(), 3), "place", round(float(torch.as_tensor(place).detach()), 3), "reader", round(read.item(), 4), "fit", round(float(torch.as_tensor(fit).detach()), 4), len(use), flush=True)
        if step % 4000 == 0:
            print(check(finder, reader, Scenes(given.data, device, "check", 2), 12), flush=True)
    result = check(finder, reader, Scenes(given.data, device, "check", 3), 60, os.path.join(given.out, "check.npz"))
    result.update(steps=step, seconds=round(time.time() - begin))
    print(result, flush=True)
    finder.eval().cpu(), reader.eval().cpu()
    torch.save({"finder": finder.state_dict(), "reader": reader.state_dict()}, os.path.join(given.out, "weights.pt"))
    torch.onnx.export(finder, torch.zeros(1, 1, 256, 256), os.path.join(given.out, "marker-finder.onnx"), input_names=["image"], output_names=["answer"],
                      dynamic_axes={"image": {2: "rows", 3: "columns"}, "answer": {2: "rows8", 3: "columns8"}}, opset_version=17, dynamo=False)
    torch.onnx.export(reader, torch.zeros(1, 1, PATCH, PATCH), os.path.join(given.out, "marker-reader.onnx"), input_names=["patches"], output_names=["answers"],
                      dynamic_axes={"patches": {0: "count"}, "answers": {0: "count"}}, opset_version=17, dynamo=False)
    json.dump(result, open(os.path.join(given.out, "result.json"), "w"))


if __name__ == "__main__":
    main()
