"""Trains the two small networks that find and read the words a clinic marks its sides with, and writes them as ONNX.

    python3 words.py --data FOLDER --out FOLDER [--steps 12000] [--seconds 500] [--workers 13]

FOLDER of data: what prepare.py and prepare_words.py wrote. Scenes are composed anew at every step as in train.py, with words of
2 to 8 capital letters in place of the letters L and R; single letters and other dense shapes are what must not be found.
Network 1 (finder) looks at the same reduced image as the letters' and proposes places, heights, directions and lengths of words.
Network 2 (reader) looks at a strip along each proposal, 24 samples high and 160 wide, letters 16 samples high, and answers in
80 columns: logits of blank and A to Z for connectionist temporal classification (Graves et al., Proc. ICML 2006), whether
the column lies in the word, how far its middle line lies below the strip's, in heights, and the logarithm of its height over the
strip's. Which word of a list stands there is not learnt: it is the probability that the columns spell it. Seeds are fixed.
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

from train import STRIDE, TILE, Scenes, blur, conv, normalise, unchanged

HIGH = 24  # samples across the reader's strip
WIDE = 160  # samples along it
LETTER = 16  # height of a letter in it, samples
COLUMNS = 80  # columns of the reader's answer
CAP, MARGIN = 48, 12  # of the atlas
STAMP_HIGH, STAMP_WIDE = 96, 512  # canvas of a word
MOST_LONG = 9.0  # longest word that the strip holds, in heights
# Words that clinics use, from memory; half of the words are drawn from these, half are letters at random, so that any word can be read.
COMMON = "LEFT RIGHT LT RT LINKS RECHTS LI RE IZQ DER IZQUIERD DERECHA GAUCHE DROITE SIN DX SX DEX DEXTER SINISTER SIN DXT ESQ DIR LEWA PRAWA LEVA PRAVA VENSTRE HOEGER HOYRE VANSTER HOGER VASEN OIKEA SOL SAG AP PA".split()
# A word is read as another text by these turns where all of its letters are of these.
HALF_TURN, LEFT_RIGHT, UP_DOWN = set("HINOSXZ"), set("AHIMOTUVWXY"), set("BCDEHIKOX")


class Finder(nn.Module):
    """Answers per place: word or not, offset x, y in places, log of height over 24 cells, cosine and sine of twice its direction, log of length over height."""

    def __init__(self):
        super().__init__()
        self.body = nn.Sequential(conv(1, 8, 5, 2), conv(8, 16, 3, 2), conv(16, 24), conv(24, 48, 3, 2), conv(48, 48), conv(48, 48, 3, 1, 2), conv(48, 48, 3, 1, 4), conv(48, 48, 3, 1, 8), conv(48, 48))
        self.head = nn.Conv2d(48, 7, 1)
        nn.init.constant_(self.head.bias[:1], -4.0)

    def forward(self, x):
        return self.head(self.body(x))


def along(i, o, k, d=1):
    return nn.Sequential(nn.Conv1d(i, o, k, 1, d * (k // 2), d, bias=False), nn.BatchNorm1d(o), nn.ReLU())


class Reader(nn.Module):
    """Answers per strip and column: 27 logits (blank, A to Z), logit of being in the word, middle line's offset in heights, log height ratio."""

    def __init__(self):
        super().__init__()
        self.body = nn.Sequential(conv(1, 24), conv(24, 48, 3, 2), conv(48, 48), conv(48, 80, 3, (2, 1)), conv(80, 80), conv(80, 112, 3, (2, 1)), conv(112, 112), nn.Flatten(1, 2))
        self.line = nn.Sequential(along(336, 192, 1), along(192, 192, 5), along(192, 192, 5, 2), nn.Conv1d(192, 30, 1))

    def forward(self, x):
        return self.line(self.body(x))


class Words(Scenes):
    def __init__(self, folder, device, part, seed, count):
        super().__init__(folder, device, part, seed)
        z = np.load(os.path.join(folder, "atlas.npz"))
        self.atlas, self.atlas_wide = z[part], z[part + "_wide"]
        # Runs of text among the other shapes are words: left out.
        apart = np.array([k for k in range(self.count[1]) if k % 10 != 3]) + self.count[0]
        self.not_words = np.concatenate([np.arange(self.count[0]), apart])
        made = [self.compose() for _ in range(count)]
        self.word_stamps = np.array([m[0] for m in made])
        self.texts = [m[1] for m in made]
        self.lengths = np.array([m[2] for m in made])
        self.word_ink = self.word_stamps[:, 0].astype(np.float32).sum((1, 2)) / 255

    def text(self):
        r = self.rng
        if r.random() < 0.5:
            return COMMON[int(r.integers(len(COMMON)))]
        return "".join(chr(65 + int(v)) for v in r.integers(0, 26, int(r.integers(2, 9))))

    def compose(self):
        """One word: strokes and plate on a canvas, its text, its length in heights."""
        r = self.rng
        while True:
            text, font = self.text(), int(r.integers(len(self.atlas)))
            gap = CAP * (r.uniform(0.04, 0.2) if r.random() < 0.75 else r.uniform(0.2, 0.45))
            long = sum(self.atlas_wide[font, ord(c) - 65] for c in text) + gap * (len(text) - 1)
            if long < STAMP_WIDE - 60:
                break
        canvas = np.zeros((STAMP_HIGH, STAMP_WIDE), np.uint8)
        x = (STAMP_WIDE - long) / 2
        top = (STAMP_HIGH - CAP) // 2 - MARGIN
        for c in text:
            glyph, wide = self.atlas[font, ord(c) - 65], int(self.atlas_wide[font, ord(c) - 65])
            at, down = int(round(x)), int(round(r.normal(0, 0.6)))
            part = canvas[top + down:top + down + glyph.shape[0], at:at + wide]
            np.maximum(part, glyph[:, :wide], out=part)
            x += wide + gap
        if r.random() < 0.3:
            # Thicker strokes, as milled or cast.
            k = int(r.choice([3, 3, 5]))
            t = torch.tensor(canvas)[None, None].float()
            canvas = F.max_pool2d(t, k, 1, k // 2)[0, 0].numpy().astype(np.uint8)
        if r.random() < 0.12:
            y = int(r.integers(STAMP_HIGH // 2 - 14, STAMP_HIGH // 2 + 14))
            canvas[y:y + int(r.integers(2, 5))] = 0
        plate = np.zeros_like(canvas)
        m = int(CAP * r.uniform(0.18, 0.48))
        box = (STAMP_HIGH // 2 - CAP // 2 - m, STAMP_HIGH // 2 + CAP // 2 + m, max(0, int((STAMP_WIDE - long) / 2 - m)), min(STAMP_WIDE, int((STAMP_WIDE + long) / 2 + m)))
        pick = r.random()
        if pick < 0.35:
            plate[box[0]:box[1], box[2]:box[3]] = 255
        elif pick < 0.47 and m > 14:
            w = int(r.integers(1, 4))
            canvas[box[0]:box[0] + w, box[2]:box[3]] = canvas[box[1] - w:box[1], box[2]:box[3]] = 255
            canvas[box[0]:box[1], box[2]:box[2] + w] = canvas[box[0]:box[1], box[3] - w:box[3]] = 255
        return np.stack([canvas, plate]), text, long / CAP

    def batch(self, n):
        """Tiles and for each the words in it: (text or None for 'leave out', x, y, height, turn, mirrored, share seen, length in heights)."""
        r = self.rng
        tiles, known, masks = [], [], []
        for k in range(n):
            v, found = self.background()
            visible = torch.ones_like(v)
            after = r.random() < 0.6
            if r.random() < 0.35:
                cut, seen = self.cut(v)
                if after:
                    visible = seen
                else:
                    v = cut
            tiles.append(v)
            # A word or a letter that the background already holds: letters are no words, what could not be labelled is left out.
            known.append([(None, f[1], f[2], 3 * f[3], f[4], f[5], 0.5, 1.0) for f in found if f[0] == 0])
            masks.append(visible)
        v = torch.stack(tiles)[:, None]
        visible = torch.stack(masks)[:, None]
        level = F.avg_pool2d(F.pad(v, (8, 8, 8, 8), mode="replicate"), 17, 1)
        placed = [[(f[1], f[2], f[3]) for f in known[k]] for k in range(n)]
        truth = [list(known[k]) for k in range(n)]
        t = torch.arange(TILE, device=self.d).float()
        for slot in range(6):
            positive = slot < 2
            stamps, theta, gains, fresh = [], [], [], []
            for k in range(n):
                on = r.random() < (0.6 if positive else 0.4)
                height = math.exp(r.uniform(math.log(18), math.log(100)))
                x, y = r.uniform(0, TILE, 2)
                stretch = math.exp(r.normal(0, 0.1)) if positive else 1.0
                if positive:
                    which = int(r.integers(len(self.texts)))
                    long = self.lengths[which] * stretch
                    height = min(height, 440 / long)
                    reach = height * (0.5 * long + 0.3)
                    on &= long < MOST_LONG and height > 15
                    # Most words lie whole in the tile.
                    if r.random() < 0.85 and reach < TILE / 2:
                        x, y = r.uniform(reach, TILE - reach, 2)
                else:
                    which = int(self.not_words[int(r.integers(len(self.not_words)))])
                    long, reach = 1.0, height
                if on and any((x - a) ** 2 + (y - b) ** 2 < (reach + c) ** 2 for a, b, c in placed[k]):
                    on = False
                turn = r.integers(4) * math.pi / 2 * (r.random() < 0.4) + (r.uniform(-math.pi, math.pi) if r.random() < 0.5 else r.normal(0, 0.1))
                mirrored = r.random() < 0.35
                q = (CAP if positive else 64) / height
                c, s = math.cos(turn), math.sin(turn)
                f = -1 if mirrored else 1
                theta.append((q * c * f / stretch, q * s * f / stretch, -q * s, q * c, x, y))
                stamps.append(which)
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
                gains.append((float(on), value, alpha, plate_value, plate_alpha, float(r.random() < 0.1), 0.3 + abs(r.normal(0, 0.8)) * height / 60))
                if on:
                    placed[k].append((x, y, reach))
                    if positive:
                        fresh.append((k, self.texts[which], x, y, height, math.atan2(s, c), int(mirrored), self.word_ink[which] * stretch / (q * q), long))
            stamp = torch.tensor(self.word_stamps[stamps], device=self.d).float() / 255 if positive else self.stamps[torch.tensor([0 if 64 / x[3] < 1.4 else 1 for x in theta], device=self.d), torch.tensor(stamps, device=self.d)]
            th = torch.tensor(theta, device=self.d, dtype=torch.float32)
            dx = t[None, None] - th[:, 4, None, None]
            dy = t[None, :, None] - th[:, 5, None, None]
            gx = th[:, 0, None, None] * dx + th[:, 1, None, None] * dy
            gy = th[:, 2, None, None] * dx + th[:, 3, None, None] * dy
            drawn = F.grid_sample(stamp, torch.stack([gx / (stamp.shape[-1] / 2), gy / (stamp.shape[-2] / 2)], -1), align_corners=False)
            g = torch.tensor(gains, device=self.d, dtype=torch.float32)
            col = lambda i: g[:, i, None, None, None]
            ink, plate = blur(drawn[:, :1], g[:, 6].clamp(max=2)), blur(drawn[:, 1:], g[:, 6].clamp(max=2))
            out = col(5) * (plate.amax((1, 2, 3), keepdim=True) > 0.5).float()
            ink = ink * (1 - out) + out * (plate - ink).clamp(min=0)
            plate = plate * (1 - out)
            v = v + col(0) * plate * col(4) * (col(3) - v)
            v = v + col(0) * ink * col(2) * (col(1) - v)
            if positive:
                seen = (drawn[:, :1] * visible).sum((1, 2, 3)).cpu().numpy()
                for k, text, x, y, height, turn, mirrored, ink_area, long in fresh:
                    truth[k].append((text, x, y, height, turn, mirrored, float(seen[k] / max(1, ink_area)), long))
        low = torch.tensor(r.choice([0, 0, 1, 0.5], n), device=self.d, dtype=torch.float32)[:, None, None, None]
        v = v * visible + (1 - visible) * low
        noise = torch.randn_like(v)
        noise = torch.where(torch.tensor(r.random(n) < 0.5, device=self.d)[:, None, None, None], noise, 2.2 * blur(noise, torch.full((n,), 0.9, device=self.d)))
        v = v + noise * torch.tensor(np.abs(r.normal(0, 0.015, n)), device=self.d, dtype=torch.float32)[:, None, None, None] * (visible + 0.2)
        low, high = v.amin((1, 2, 3), keepdim=True), v.amax((1, 2, 3), keepdim=True)
        v = ((v - low) / (high - low + 1e-3)).clamp(0, 1) ** torch.tensor(np.exp(r.normal(0, 0.3, n)), device=self.d, dtype=torch.float32)[:, None, None, None]
        flip = torch.tensor(r.random(n) < 0.4, device=self.d)[:, None, None, None]
        return torch.where(flip, 1 - v, v), truth


class Stream(torch.utils.data.IterableDataset):
    """Endless batches of scenes, each worker with a seed of its own."""

    def __init__(self, folder, device):
        self.folder, self.device = folder, device

    def __iter__(self):
        info = torch.utils.data.get_worker_info()
        number = info.id if info else 0
        torch.manual_seed(300 + number)
        torch.set_num_threads(1)
        scenes = Words(self.folder, self.device, "learn", 300 + number, 2500)
        while True:
            v, truth = scenes.batch(32)
            yield v.half().cpu(), truth


def strips(v, rows, rng):
    """The reader's strips. rows: (tile, x, y, height, direction, a, b): the strip's right is a times the direction, its down b times the direction turned by a quarter."""
    q = torch.tensor(rows, device=v.device, dtype=torch.float32)
    c, s = torch.cos(q[:, 4]), torch.sin(q[:, 4])
    step = q[:, 3] / LETTER
    u = (torch.arange(3 * WIDE, device=v.device).float() - (3 * WIDE - 1) / 2) / 3
    w = (torch.arange(3 * HIGH, device=v.device).float() - (3 * HIGH - 1) / 2) / 3
    right = step[:, None, None] * q[:, 5, None, None] * u[None, None, :]
    down = step[:, None, None] * q[:, 6, None, None] * w[None, :, None]
    gx = q[:, 1, None, None] + right * c[:, None, None] - down * s[:, None, None]
    gy = q[:, 2, None, None] + right * s[:, None, None] + down * c[:, None, None]
    grid = torch.stack([(2 * gx + 1) / TILE - 1, (2 * gy + 1) / TILE - 1], -1)
    out = torch.empty(len(rows), 1, HIGH, WIDE, device=v.device)
    tile = q[:, 0].long()
    for k in range(v.shape[0]):
        at = (tile == k).nonzero()[:, 0]
        if len(at):
            p = F.grid_sample(v[k:k + 1], grid[at].reshape(1, -1, 3 * WIDE, 2), padding_mode="border", align_corners=False).reshape(len(at), 1, 3 * HIGH, 3 * WIDE)
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
        for text, x, y, height, turn, mirrored, seen, long in marks:
            cx, cy, h = (x - 0.5) / 2 / STRIDE, (y - 0.5) / 2 / STRIDE, height / 2
            dx, dy = xx + 0.5 - 0.5 / STRIDE - cx, yy + 0.5 - 0.5 / STRIDE - cy
            d2 = dx ** 2 + dy ** 2
            if text is None or 0.2 < seen < 0.9:
                weight[k][d2 < max(1.0, (0.5 * long + 0.3) * h / STRIDE) ** 2] = 0
            elif seen >= 0.9:
                i, j = np.unravel_index(np.argmin(d2), d2.shape)
                sigma = max(0.6, h / STRIDE / 4)
                heat[k] = np.maximum(heat[k], 0.98 * np.exp(-d2 / (2 * sigma ** 2)))
                heat[k, i, j] = 1
                for a in (-1, 0, 1):
                    for b in (-1, 0, 1):
                        if 0 <= i + a < side and 0 <= j + b < side:
                            reg.append((k, i + a, j + b, cx - (j + b), cy - (i + a), math.log(h / 24), math.cos(2 * turn), math.sin(2 * turn), math.log(long)))
    return torch.tensor(heat, device=device), torch.tensor(weight, device=device), torch.tensor(np.array(reg, np.float32).reshape(-1, 9), device=device)


def proposals(answer, most):
    """(tile, x, y, height, direction, length in heights) in fine pixels and score of the highest local maxima of the finder's answer."""
    score = torch.sigmoid(answer[:, 0])
    top = (score == F.max_pool2d(score[:, None], 3, 1, 1)[:, 0]) * score
    value, at = top.flatten(1).topk(most)
    side = score.shape[-1]
    k = torch.arange(len(score), device=score.device)[:, None].expand_as(at)
    i, j = at // side, at % side
    dx, dy, lh, c, s, ll = (answer[k, m, i, j] for m in range(1, 7))
    x, y = (j + dx) * STRIDE * 2 + 0.5, (i + dy) * STRIDE * 2 + 0.5
    return torch.stack([k.float(), x, y, 48 * torch.exp(lh.clamp(-1.6, 1.6)), torch.atan2(s, c) / 2, torch.exp(ll.clamp(0, 2.2)), value], -1).reshape(-1, 7).detach().cpu().numpy()


WAYS = [(1, 1), (-1, -1), (-1, 1), (1, -1)]


def reads_otherwise(text, right, down):
    """Whether a word held the wrong way (right, down: 1 as it reads, -1 reversed) is made of letters that still are letters."""
    return set(text) <= (HALF_TURN if right < 0 and down < 0 else LEFT_RIGHT if right < 0 else UP_DOWN)


def reader_samples(found, truth, rng):
    """Rows for strips and what they are: (row, text or None to leave the letters out, word or None for the geometry)."""
    out = []

    def add(k, x, y, h, direction):
        best, doubtful = None, False
        for m in truth[k]:
            dx, dy = x - m[1], y - m[2]
            c, s = math.cos(m[4]), math.sin(m[4])
            u, w = (dx * c + dy * s) / m[3], (dy * c - dx * s) / m[3]
            off = (direction - m[4] + math.pi / 2) % math.pi - math.pi / 2
            if m[0] is not None and m[6] >= 0.9 and abs(u) < 1.2 and abs(w) < 0.3 and 0.7 < h / m[3] < 1.45 and abs(off) < math.radians(14):
                best = m
            elif m[6] > 0.1 and abs(u) < 0.5 * m[7] + 5 and abs(w) < 1.3 + 5 * abs(math.sin(off)):
                doubtful = True
        if best is None:
            if not doubtful:
                for way in rng.permutation(4)[:2]:
                    out.append(((k, x, y, h, direction, *WAYS[way]), "", None))
            return
        m = best
        flip = math.cos(direction - m[4]) < 0
        for a, b in WAYS:
            right, down = (-a if flip else a) * (-1 if m[5] else 1), -b if flip else b
            row = (k, x, y, h, direction, a, b)
            if right > 0 and down > 0:
                out.append((row, m[0], m))
            elif rng.random() < 0.5 and not reads_otherwise(m[0], right, down):
                out.append((row, "", None))

    for k, x, y, h, direction, long, value in found:
        if value > 0.01:
            add(int(k), x, y, h, direction)
    for k, marks in enumerate(truth):
        for m in marks:
            if m[0] is not None and m[6] >= 0.9:
                f = rng.choice([0.3, 1.0])
                add(k, m[1] + f * rng.normal(0, 0.25) * m[3], m[2] + f * rng.normal(0, 0.08) * m[3], m[3] * math.exp(f * rng.normal(0, 0.12)), m[4] + math.radians(f * rng.normal(0, 4)) + math.pi * int(rng.integers(2)))
        add(k, *rng.uniform(0, TILE, 2), math.exp(rng.uniform(math.log(18), math.log(100))), rng.uniform(-math.pi, math.pi))
    return out


def geometry(samples):
    """Targets per strip and column: in the word or not, offset of the middle line in heights, log height ratio; NaN where there is none."""
    target = np.full((len(samples), 3, COLUMNS), np.nan, np.float32)
    along = ((np.arange(COLUMNS) + 0.5) * WIDE / COLUMNS - WIDE / 2) / LETTER
    for n, (row, text, m) in enumerate(samples):
        if text == "":
            target[n, 0] = 0
        if m is None:
            continue
        _, x, y, h, direction, a, b = row
        px, py = x + along * h * a * math.cos(direction), y + along * h * a * math.sin(direction)
        c, s = math.cos(m[4]), math.sin(m[4])
        u, w = (px - m[1]) * c + (py - m[2]) * s, (py - m[2]) * c - (px - m[1]) * s
        inside = np.abs(u) < m[7] * m[3] / 2
        target[n, 0] = inside
        down = -b * math.sin(direction) * -s + b * math.cos(direction) * c
        target[n, 1, inside] = (-w / down / h)[inside]
        target[n, 2, inside] = math.log(m[3] / h)
    return target


def spelled(logits, texts, device):
    """Negative log probability that the columns spell each text (N, 27, COLUMNS)."""
    log = F.log_softmax(logits, 1).permute(2, 0, 1)
    if not any(texts):
        return -log[:, :, 0].sum(0)
    flat = torch.tensor([ord(c) - 64 for t in texts for c in t], dtype=torch.long, device=device)
    lengths = torch.tensor([len(t) for t in texts], dtype=torch.long, device=device)
    return F.ctc_loss(log, flat, torch.full((len(texts),), COLUMNS, dtype=torch.long, device=device), lengths, reduction="none", zero_infinity=True)


def refine(row, answer):
    """The strip's geometry bettered by a reader's answer: a straight line through the columns in the word."""
    k, x, y, h, direction, a, b = row
    weight = 1 / (1 + np.exp(-answer[27]))
    weight = np.where(weight > 0.5, weight, 0)
    if (weight > 0).sum() < 5:
        return row, 0.0
    along = ((np.arange(COLUMNS) + 0.5) * WIDE / COLUMNS - WIDE / 2) / LETTER
    mean = (weight * along).sum() / weight.sum()
    offset = (weight * answer[28]).sum() / weight.sum()
    spread = (weight * (along - mean) ** 2).sum()
    tilt = (weight * (along - mean) * (answer[28] - offset)).sum() / max(1e-6, spread)
    inside = np.nonzero(weight)[0]
    middle = (along[inside[0]] + along[inside[-1]]) / 2
    offset += tilt * (middle - mean)
    c, s = math.cos(direction), math.sin(direction)
    x2, y2 = x + h * (a * middle * c - b * offset * s), y + h * (a * middle * s + b * offset * c)
    return (k, x2, y2, h * math.exp((weight * answer[29]).sum() / weight.sum()), direction + a * b * math.atan(tilt), a, b), (inside[-1] - inside[0] + 1) * WIDE / COLUMNS / LETTER


LISTED = ["LEFT", "RIGHT", "LINKS", "RECHTS", "LI", "RE", "IZQ", "DER", "GAUCHE", "DROITE", "SIN", "DX"]


def check(finder, reader, scenes, n, device, least=0.3):
    """Recall and precision of the listed words over scenes of fonts kept apart, and the rotation of those found."""
    finder.eval(), reader.eval()
    truths = proposed = hits = wrong = turned = 0
    turns = []
    with torch.no_grad():
        for _ in range(n):
            v, truth = scenes.batch(16)
            found = proposals(finder(normalise(F.avg_pool2d(v, 2), 0.01)), 10)
            found = found[found[:, 6] > 0.05]
            marks = [(k, m) for k, t in enumerate(truth) for m in t if m[0] in LISTED and m[6] > 0.97]
            doubt = [(k, m) for k, t in enumerate(truth) for m in t if m[0] is None or (m[0] in LISTED and m[6] <= 0.97)]
            truths += len(marks)
            near = lambda f, m: math.hypot(m[1] - f[1], m[2] - f[2]) < 0.6 * m[3] + 0.2 * m[3] * m[7]
            proposed += sum(any(int(f[0]) == k and near(f, m) for f in found) for k, m in marks)
            if not len(found):
                continue
            rows = [(int(f[0]), f[1], f[2], f[3], f[4], a, b) for f in found for a, b in WAYS]
            first = reader(strips(v, rows, scenes.rng))
            empty = spelled(first[:, :27], [""] * len(rows), device).cpu().numpy()
            answers = first.cpu().numpy()
            better = []
            for p in range(len(found)):
                for w in np.argsort(-empty[4 * p:4 * p + 4])[:2]:
                    if empty[4 * p + w] > 0.1:
                        better.append(refine(rows[4 * p + w], answers[4 * p + w])[0])
            if not better:
                continue
            second = reader(strips(v, better, scenes.rng))
            chance = np.array([np.exp(-spelled(second[:, :27], [word] * len(better), device).cpu().numpy()) for word in LISTED])
            answers = second.cpu().numpy()
            taken = []
            for q in np.argsort(-chance.max(0)):
                if chance[:, q].max() < least:
                    break
                row = refine(better[q], answers[q])[0]
                if any(t[0] == row[0] and math.hypot(t[1] - row[1], t[2] - row[2]) < row[3] for t in taken):
                    continue
                taken.append(row)
                word = LISTED[int(chance[:, q].argmax())]
                mark = [m for k, m in marks if k == row[0] and near(row, m)]
                if mark and mark[0][0] == word and mark[0][5] == int(row[5] * row[6] < 0):
                    hits += 1
                    turns.append(abs((row[4] + (math.pi if row[6] < 0 else 0) - mark[0][4] + math.pi) % (2 * math.pi) - math.pi))
                elif not any(k == row[0] and near(row, m) for k, m in doubt):
                    wrong += 1
    finder.train(), reader.train()
    turns = np.degrees(np.array(turns or [0]))
    return dict(words=truths, proposed=round(proposed / max(1, truths), 4), recall=round(hits / max(1, truths), 4), precision=round(hits / max(1, hits + wrong), 4),
                turn_median=round(float(np.median(turns)), 2), turn_95=round(float(np.percentile(turns, 95)), 2))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--data", required=True)
    parser.add_argument("--out", required=True)
    parser.add_argument("--steps", type=int, default=12000)
    parser.add_argument("--workers", type=int, default=8)
    parser.add_argument("--seconds", type=float, default=1e9, help="ends the training earlier; the rate falls with the time then")
    given = parser.parse_args()
    torch.manual_seed(20261127)
    device = "cuda" if torch.cuda.is_available() else "cpu"
    os.makedirs(given.out, exist_ok=True)
    stream = iter(torch.utils.data.DataLoader(Stream(given.data, device), batch_size=None, collate_fn=unchanged, num_workers=given.workers, prefetch_factor=3, multiprocessing_context="spawn", pin_memory=False))
    rng = np.random.default_rng(1)
    finder, reader = Finder().to(device), Reader().to(device)
    parameters = [*finder.parameters(), *reader.parameters()]
    best = torch.optim.AdamW(parameters, lr=2e-3, weight_decay=1e-3)
    next(stream)
    begin, step = time.time(), 0
    while step < given.steps and time.time() - begin < given.seconds:
        done = max(step / given.steps, (time.time() - begin) / given.seconds)
        for group in best.param_groups:
            group["lr"] = 2e-3 * min(1, (step + 1) / 200) * (0.5 * (1 + math.cos(math.pi * min(1, done))) + 0.005)
        v, truth = next(stream)
        v = v.to(device).float()
        eps = torch.tensor(np.exp(rng.uniform(math.log(0.005), math.log(0.03), len(v))), device=device, dtype=torch.float32)[:, None, None, None]
        answer = finder(normalise(F.avg_pool2d(v, 2), eps))
        heat, weight, reg = finder_targets(truth, device)
        p = torch.sigmoid(answer[:, 0]).clamp(1e-5, 1 - 1e-5)
        positive = (heat == 1).float() * weight
        focal = -(positive * (1 - p) ** 2 * p.log() + (1 - positive) * weight * (1 - heat) ** 4 * p ** 2 * (1 - p).log()).sum() / positive.sum().clamp(min=1)
        k, i, j = (reg[:, c].long() for c in range(3))
        at = answer[k, :, i, j]
        place = F.smooth_l1_loss(at[:, 1:7], reg[:, 3:9], beta=0.1) if len(reg) else 0
        samples = reader_samples(proposals(answer, 6), truth, rng)
        o = reader(strips(v, [q[0] for q in samples], rng))
        target = torch.tensor(geometry(samples), device=device)
        lettered = [n for n, q in enumerate(samples) if q[1] is not None]
        read = spelled(o[lettered, :27], [samples[n][1] for n in lettered], device).mean()
        known, lined = ~target[:, 0].isnan(), ~target[:, 1].isnan()
        fit = 0.3 * F.binary_cross_entropy_with_logits(o[:, 27][known], target[:, 0][known])
        if lined.any():
            fit = fit + 2 * F.smooth_l1_loss(o[:, 28][lined], target[:, 1][lined], beta=0.02) + F.smooth_l1_loss(o[:, 29][lined], target[:, 2][lined], beta=0.05)
        loss = focal + place + 0.5 * read + fit
        best.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(parameters, 5.0)
        best.step()
        step += 1
        if step % 250 == 0:
            print(step, round(time.time() - begin), "finder", round(focal.item(), 3), "place", round(float(torch.as_tensor(place).detach()), 3), "reader", round(read.item(), 4), "fit", round(float(fit.detach()), 4), len(samples), flush=True)
    torch.save({"finder": finder.state_dict(), "reader": reader.state_dict()}, os.path.join(given.out, "words.pt"))
    finder.eval().cpu(), reader.eval().cpu()
    torch.onnx.export(finder, torch.zeros(1, 1, 256, 256), os.path.join(given.out, "word-finder.onnx"), input_names=["image"], output_names=["answer"],
                      dynamic_axes={"image": {2: "rows", 3: "columns"}, "answer": {2: "rows8", 3: "columns8"}}, opset_version=17, dynamo=False)
    torch.onnx.export(reader, torch.zeros(1, 1, HIGH, WIDE), os.path.join(given.out, "word-reader.onnx"), input_names=["strips"], output_names=["answers"],
                      dynamic_axes={"strips": {0: "count"}, "answers": {0: "count"}}, opset_version=17, dynamo=False)
    finder.to(device), reader.to(device)
    result = check(finder, reader, Words(given.data, device, "check", 3, 1500), 80, device)
    result.update(steps=step, seconds=round(time.time() - begin))
    print(result, flush=True)
    json.dump(result, open(os.path.join(given.out, "words.json"), "w"))


if __name__ == "__main__":
    main()
