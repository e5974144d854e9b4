#!/usr/bin/env python3
"""Trains the network of landmark proposals on path lengths of the phantoms in random poses.

    train.py --data DATA --out OUT --seconds 240 [--real real.npz] [--name landmarks]

DATA holds what Hotlight.Training.Landmarks writes: chest, elbow, ankle and knee. Pictures are made of the path lengths
anew for each step: other bones' contrast, tube voltages, scatter, windows, fields, warps. --real adds radiographs marked
by eye (prepare_real.py), those of the tuning half only. Needs numpy, PyTorch and onnx.
"""
import argparse, json, math, os, time
import numpy as np
import torch
import torch.nn as nn
import torch.nn.functional as F

SIDE = 192                     # samples of the network's picture
CELLS = 96                     # places of its answer
EXAMS = ['chest', 'elbow', 'ankle', 'knee']
SIGMA = 1.0                    # of the target, in cells
FIELD = {'chest': (0.60, 1.0), 'elbow': (0.38, 1.0), 'ankle': (0.42, 1.0), 'knee': (0.42, 1.0)}   # share of the receptor's side
TURN = {'chest': 10, 'elbow': 25, 'ankle': 18, 'knee': 18}
ap = argparse.ArgumentParser()
ap.add_argument('--data', required=True); ap.add_argument('--out', required=True)
ap.add_argument('--seconds', type=float, default=240); ap.add_argument('--real'); ap.add_argument('--name', default='landmarks')
ap.add_argument('--phantom-only', action='store_true'); ap.add_argument('--batch', type=int, default=20); ap.add_argument('--seed', type=int, default=11)
args = ap.parse_args()
dev = 'cuda' if torch.cuda.is_available() else 'cpu'
torch.manual_seed(args.seed); np.random.seed(args.seed)
torch.backends.cudnn.benchmark = True
os.makedirs(args.out, exist_ok=True)


class Set:
    pass


sets, channels = {}, []
for e in EXAMS:
    head = json.load(open(f'{args.data}/{e}.json')); s = Set(); P = head['pixels']
    raw = np.fromfile(f'{args.data}/{e}.lengths', '<u2').reshape(-1, 3, P, P)
    places = np.fromfile(f'{args.data}/{e}.places', '<f4').reshape(len(raw), -1, 3)
    poses = np.fromfile(f'{args.data}/{e}.poses', '<f4').reshape(len(raw), -1)
    s.names = head['points']
    s.x = torch.from_numpy(np.minimum(raw, 32767).astype(np.int16)).to(dev)
    s.y = torch.from_numpy(places[:, :, :2].copy()).to(dev)
    s.P, s.mm = P, head['spacingMm']
    # Whole bodies are kept apart: the group of poses of one body is the last number of a pose.
    apart = torch.from_numpy((poses[:, 6].astype(int) % 25) == 0).to(dev)
    s.train, s.check = torch.where(~apart)[0], torch.where(apart)[0]
    s.first = len(channels); channels += [f'{e}/{n}' for n in s.names]; s.last = len(channels)
    sets[e] = s
    print(e, len(raw), 'pictures,', len(s.names), 'points', flush=True)


def R(n, lo=0.0, hi=1.0):
    return lo + (hi - lo) * torch.rand(n, device=dev)


def blur(x, sigma):
    """Gaussian blur, one sigma for all."""
    r = max(1, int(3 * sigma + .5)); t = torch.arange(-r, r + 1, device=dev, dtype=x.dtype)
    k = torch.exp(-t * t / (2 * sigma * sigma)); k = k / k.sum(); C = x.shape[1]
    x = F.conv2d(F.pad(x, (r, r, 0, 0), mode='replicate'), k.view(1, 1, 1, -1).repeat(C, 1, 1, 1), groups=C)
    return F.conv2d(F.pad(x, (0, 0, r, r), mode='replicate'), k.view(1, 1, -1, 1).repeat(C, 1, 1, 1), groups=C)


def smooth(n, cells, c=1):
    return F.interpolate(torch.randn(n, c, cells, cells, device=dev), size=(SIDE, SIDE), mode='bicubic', align_corners=True)


def geometry(e, idx, x, y, P, real=False):
    """Crops, turns, stretches and warps; returns pictures, places in cells, and which part of the square is picture."""
    B = len(idx); lo, hi = (0.8, 1.05) if real else FIELD[e]
    c = R(B, lo, hi) * P
    aspect = torch.exp(R(B, -.45, .45)) if not real else torch.exp(R(B, -.2, .2))
    w, h = c * torch.sqrt(aspect).clamp(max=1.15), c / torch.sqrt(aspect).clamp(min=.87)
    side = torch.maximum(w, h)
    turn = (torch.rand(B, device=dev) * 2 - 1) * math.radians(8 if real else TURN[e])
    if e == 'elbow':
        turn = torch.where(torch.rand(B, device=dev) < .5, R(B, -math.pi, math.pi), turn)
    good = (y[..., 0] > 0) & (y[..., 0] < P) & (y[..., 1] > 0) & (y[..., 1] < P) if not real else torch.isfinite(y[..., 0])
    yy = torch.where(good[..., None], y, torch.zeros_like(y))
    mid = yy.sum(1) / good.sum(1).clamp(min=1)[:, None]
    if real:
        mid = torch.full_like(mid, P / 2)
    mid = mid + (torch.rand(B, 2, device=dev) - .5) * (.12 if real else .34) * side[:, None]
    # u in [-1, 1] over the square of the network -> pixels of the source
    stretch = torch.exp(torch.randn(B, 2, device=dev) * .09); shear = torch.randn(B, device=dev) * .06
    cs, sn = torch.cos(turn), torch.sin(turn)
    S = torch.zeros(B, 2, 2, device=dev); S[:, 0, 0] = stretch[:, 0]; S[:, 1, 1] = stretch[:, 1]; S[:, 0, 1] = shear
    Rm = torch.stack([torch.stack([cs, -sn], -1), torch.stack([sn, cs], -1)], -2)
    A = Rm @ S * (side / 2)[:, None, None]
    if e in ('elbow', 'ankle', 'knee'):
        flip = torch.where(torch.rand(B, device=dev) < .5, -1.0, 1.0); A[:, :, 0] *= flip[:, None]
    amount = R(B, 0, .07)[:, None, None, None]
    warp = amount * smooth(B, 4, 2) + .35 * amount * smooth(B, 7, 2)
    t = (torch.arange(SIDE, device=dev) + .5) / SIDE * 2 - 1
    u = torch.stack(torch.meshgrid(t, t, indexing='xy'), -1)[None].expand(B, -1, -1, -1)
    v = u + warp.permute(0, 2, 3, 1)
    px = torch.einsum('bij,bhwj->bhwi', A, v) + mid[:, None, None]
    out = F.grid_sample(x, (px + .5) / P * 2 - 1, mode='bilinear', padding_mode='border' if not real else 'zeros', align_corners=False)
    u0 = torch.einsum('bij,bkj->bki', torch.linalg.inv(A), torch.nan_to_num(y, nan=-9e3) - mid[:, None]); ul = u0
    for _ in range(6):
        ul = u0 - F.grid_sample(warp, ul[:, :, None], mode='bilinear', padding_mode='border', align_corners=False)[..., 0].permute(0, 2, 1)
    # the picture fills the middle of the square
    inside = (u[..., 0].abs() <= (w / side)[:, None, None]) & (u[..., 1].abs() <= (h / side)[:, None, None])
    if real:
        inside = inside & (out[:, 1] > .5); out = out[:, :1]
    return out, ul, inside, w / side, h / side


def curves(B, most, width):
    """Wires and tubes: smooth curves of random course."""
    img = torch.zeros(B, SIDE * SIDE, device=dev)
    for _ in range(most):
        p = torch.rand(B, 4, 2, device=dev) * 1.3 - .15
        t = torch.linspace(0, 1, 500, device=dev)[None, :, None]
        q = ((1 - t) ** 3 * p[:, :1] + 3 * (1 - t) ** 2 * t * p[:, 1:2] + 3 * (1 - t) * t * t * p[:, 2:3] + t ** 3 * p[:, 3:]) * SIDE
        ok = ((q >= 0) & (q < SIDE)).all(-1) & (torch.rand(B, device=dev) < .6)[:, None]
        at = (q[..., 1].long().clamp(0, SIDE - 1) * SIDE + q[..., 0].long().clamp(0, SIDE - 1))
        line = torch.zeros_like(img).scatter_(1, at, ok.float())
        img = torch.maximum(img, line * R(B, .3, 1)[:, None])
    return blur(img.view(B, 1, SIDE, SIDE), width) * 2.2


def boxes(B, n, lo, hi):
    t = torch.arange(SIDE, device=dev); img = torch.zeros(B, SIDE, SIDE, device=dev, dtype=torch.bool)
    for _ in range(n):
        cx, cy, a, b = R(B, 0, SIDE), R(B, 0, SIDE), R(B, lo, hi), R(B, lo, hi)
        on = torch.rand(B, device=dev) < .5
        img |= ((t[None] - cx[:, None]).abs() < a[:, None])[:, None, :] & ((t[None] - cy[:, None]).abs() < b[:, None])[:, :, None] & on[:, None, None]
    return img[:, None]


def V(B, lo, hi):
    return R(B, lo, hi)[:, None, None, None]


def chance(B, p):
    return (torch.rand(B, device=dev) < p).float()[:, None, None, None]


def picture(e, m):
    """From path lengths in mm to a picture: attenuation, scatter, processing for display."""
    B = len(m); bone, soft, fat = m[:, :1], m[:, 1:2], m[:, 2:]
    mu = V(B, .017, .026); mb = torch.exp(V(B, math.log(.035 if e == 'chest' else .055), math.log(.14)))
    texture = 1 + V(B, 0, .5) * smooth(B, 48) * .5 + V(B, 0, .3) * smooth(B, 12) * .5
    p = mb * bone * texture.clamp(.2, 2) + mu * (soft * torch.exp(V(B, 0, .25) * smooth(B, 6)) + V(B, .8, .95) * fat)
    if e == 'chest':
        blob = smooth(B, 5).clamp(min=0) + .6 * smooth(B, 10).clamp(min=0)
        p = p + chance(B, .6) * V(B, 0, .7) * blob
    p = p / (1 + V(B, 0, .12) * p)
    if e != 'chest':
        p = p + .25 * V(B, 0, 1) * smooth(B, 3)
    air = (soft + fat + bone) < .5
    i = torch.exp(-p); i = i * (1 - V(B, 0, .35)) + V(B, 0, .3) * blur(i, 14)
    i = i * torch.exp(V(B, 0, .07) * torch.randn_like(i) * torch.sqrt(.02 / i.clamp(min=.003)))
    return torch.log(i.clamp(min=1e-4)) * -1, air


def display(e, g, inside, air=None, real=False):
    """Processing, window, clutter, field edges; returns the normalised square and what a border hides."""
    B = len(g); ins = inside[:, None].float()
    for s in (6, 18):
        low = blur(g, s); g = low + (g - low) * torch.exp(V(B, -.5, .7) * chance(B, .6)) - low * V(B, 0, .75) * chance(B, .5)
    n = ins.sum((1, 2, 3), keepdim=True).clamp(min=1)
    flat = torch.where(inside[:, None], g, torch.full_like(g, float('nan'))).flatten(1)
    a = torch.nanquantile(flat[:, ::7], .02, dim=1)[:, None, None, None]; b = torch.nanquantile(flat[:, ::7], .99, dim=1)[:, None, None, None]
    g = (g - a) / (b - a).clamp(min=1e-3)
    lo, hi = V(B, -.15, .3), V(B, .75, 1.3); g = (g - lo) / (hi - lo)
    soft = chance(B, .5)
    g = soft * torch.sigmoid(5 * (g - .5)) + (1 - soft) * g.clamp(0, 1)
    g = g.clamp(min=0) ** torch.exp(V(B, -.6, .6))
    g = g + V(B, 0, .2) * smooth(B, 3) * .5
    lines = curves(B, 5 if e == 'chest' else 2, .7); g = g + chance(B, .55 if e == 'chest' else .2) * lines * V(B, -.3, .8)
    g = torch.where((boxes(B, 2, 2, 7) & (chance(B, .5) > 0)), V(B, -.2, 1.3).expand_as(g), g)
    g = torch.where((boxes(B, 2, 6, 22) & (chance(B, .18) > 0)), V(B, 0, 1).expand_as(g), g)
    k = chance(B, .35); g = k * blur(g, 1.0) + (1 - k) * g
    noise = torch.randn_like(g); g = g + V(B, 0, .06) * (noise + chance(B, .5) * 2 * blur(noise, 1.2))
    # edges of the field, a little turned
    t = (torch.arange(SIDE, device=dev) + .5) / SIDE * 2 - 1; X, Y = torch.meshgrid(t, t, indexing='xy')
    q = R(B, -.12, .12) * (torch.rand(B, device=dev) < .5); co, si = torch.cos(q)[:, None, None], torch.sin(q)[:, None, None]
    xr, yr = X * co + Y * si, Y * co - X * si
    edge = [(1 - torch.rand(B, device=dev) ** 2 * .35 * (torch.rand(B, device=dev) < .4) + .05 * (torch.rand(B, device=dev) < .3))[:, None, None] for _ in range(4)]
    edge = [torch.where(z > .995, torch.full_like(z, 9.), z) for z in edge]
    hidden = ((xr > edge[0]) | (-xr > edge[1]) | (yr > edge[2]) | (-yr > edge[3]))
    if real:
        hidden = hidden & (torch.rand(B, device=dev) < .3)[:, None, None]
    border = torch.where(torch.rand(B, device=dev) < .5, R(B, -.1, .15), R(B, .5, 1.1))[:, None, None, None] + .03 * torch.randn_like(g)
    g = torch.where(hidden[:, None], border, g)
    turned = chance(B, .12); g = turned * (1 - g) + (1 - turned) * g
    mean = (g * ins).sum((1, 2, 3), keepdim=True) / n; sd = (((g - mean) ** 2 * ins).sum((1, 2, 3), keepdim=True) / n).sqrt()
    return (g - mean) / sd.clamp(min=1e-3) * ins, hidden


def sample(e, split):
    s = sets[e]; pool = getattr(s, split); idx = pool[torch.randint(len(pool), (args.batch,), device=dev)]
    m, ul, inside, _, _ = geometry(e, idx, s.x[idx].float() * .01, s.y[idx], s.P)
    g, air = picture(e, m); g, hidden = display(e, g, inside)
    return g, target_places(ul, inside & ~hidden), None


def target_places(ul, seen):
    """Places in cells; those not seen are far away."""
    at = ((ul + 1) / 2 * CELLS) - .5
    c = ((ul + 1) / 2 * SIDE).long(); ok = ((c >= 0) & (c < SIDE)).all(-1)
    c = c.clamp(0, SIDE - 1); B = len(ul)
    ok = ok & seen.view(B, -1).gather(1, c[..., 1] * SIDE + c[..., 0])
    return torch.where(ok[..., None], at, torch.full_like(at, -1e4))


class Block(nn.Module):
    def __init__(self, i, o):
        super().__init__()
        self.a, self.b = nn.Conv2d(i, o, 3, padding=1, bias=False), nn.Conv2d(o, o, 3, padding=1, bias=False)
        self.na, self.nb = nn.BatchNorm2d(o), nn.BatchNorm2d(o)
        self.s = nn.Conv2d(i, o, 1, bias=False) if i != o else nn.Identity()

    def forward(self, x):
        return F.relu(self.s(x) + self.nb(self.b(F.relu(self.na(self.a(x))))))


class Net(nn.Module):
    W = [20, 32, 48, 72, 96, 112]

    def __init__(self, outputs):
        super().__init__()
        W = self.W; t = (torch.arange(SIDE) + .5) / SIDE * 2 - 1
        self.register_buffer('grid', torch.stack(torch.meshgrid(t, t, indexing='xy'))[None])
        self.stem = nn.Sequential(nn.Conv2d(5, W[0], 5, padding=2, bias=False), nn.BatchNorm2d(W[0]), nn.ReLU())
        self.down = nn.ModuleList([Block(W[k], W[k + 1]) for k in range(5)])
        self.deep = Block(W[5], W[5])
        self.up = nn.ModuleList([Block(W[k + 1] + W[k], W[k]) for k in (4, 3, 2)] + [Block(W[2] + W[1], W[2])])
        self.head = nn.Conv2d(W[2], outputs, 1)
        self.none = nn.Linear(W[5], outputs)

    @staticmethod
    def local(x, k):
        m = F.avg_pool2d(x, k, 1, k // 2, count_include_pad=False); v = F.avg_pool2d(x * x, k, 1, k // 2, count_include_pad=False) - m * m
        return (x - m) / torch.sqrt(torch.relu(v) + .01)

    def forward(self, x):
        h = self.stem(torch.cat([x, self.local(x, 13), self.local(x, 41), self.grid.to(x.dtype).expand(x.shape[0], -1, -1, -1)], 1))
        skips = []
        for d in self.down:
            h = d(F.max_pool2d(h, 2)); skips.append(h)
        h = self.deep(h); none = self.none(h.mean((2, 3)))
        for k, u in enumerate(self.up):
            h = u(torch.cat([F.interpolate(h, scale_factor=2, mode='bilinear', align_corners=False), skips[3 - k]], 1))
        return self.head(h), none


def target(at):
    t = torch.arange(CELLS, device=dev, dtype=torch.float32)
    gx = torch.exp(-(t - at[..., :1]) ** 2 / (2 * SIGMA ** 2)); gy = torch.exp(-(t - at[..., 1:]) ** 2 / (2 * SIGMA ** 2))
    g = (gy[..., :, None] * gx[..., None, :]).flatten(2); total = g.sum(-1, keepdim=True)
    here = total > 1e-3
    g = torch.where(here, g / total.clamp(min=1e-3), torch.zeros_like(g))
    return torch.cat([g, (~here).float()], -1)


def loss_of(maps, none, at, known=None):
    logits = torch.cat([maps.float().flatten(2), none.float()[..., None]], -1)
    each = -(target(at) * F.log_softmax(logits, -1)).sum(-1)
    return each.mean() if known is None else (each * known).sum() / known.sum().clamp(min=1)


def decode(maps, none):
    """Places in cells, spread in cells, probability of the place."""
    B, C = maps.shape[:2]; prob = F.softmax(torch.cat([maps.float().flatten(2), none.float()[..., None]], -1), -1)
    absent = prob[..., -1]; p = prob[..., :-1].view(B, C, CELLS, CELLS)
    pooled = F.avg_pool2d(p, 5, 1, 2, count_include_pad=True); best = pooled.flatten(2).argmax(-1); by, bx = best // CELLS, best % CELLS
    t = torch.arange(CELLS, device=dev)
    win = ((t[None, None] - by[..., None]).abs() <= 5).float()[..., :, None] * ((t[None, None] - bx[..., None]).abs() <= 5).float()[..., None, :]
    q = p * win; mass = q.sum((2, 3)).clamp(min=1e-9)
    x = (q.sum(2) * t).sum(-1) / mass; y = (q.sum(3) * t).sum(-1) / mass
    rest = p.sum((2, 3)).clamp(min=1e-9)
    d2 = ((t[None, None] - x[..., None]) ** 2)[..., None, :] + ((t[None, None] - y[..., None]) ** 2)[..., :, None]
    spread = ((p * d2).sum((2, 3)) / rest / 2).sqrt()
    return torch.stack([x, y], -1), spread, 1 - absent, mass / rest


net = Net(len(channels)).to(dev).to(memory_format=torch.channels_last); mean = Net(len(channels)).to(dev); mean.load_state_dict(net.state_dict())
print('weights', sum(p.numel() for p in net.parameters()), flush=True)
opt = torch.optim.AdamW(net.parameters(), lr=2e-3, weight_decay=.02)
real = None
if args.real:
    z = np.load(args.real, allow_pickle=False); real = {}
    for e in EXAMS if not args.phantom_only else []:
        ids = [i for i in range(len(z['exam'])) if z['exam'][i] == e and z['tuning'][i]]
        if len(ids) < 4:
            continue
        s = sets[e]; names = list(z['points']); marks = np.full((len(ids), len(s.names), 2), np.nan, np.float32)
        for a, i in enumerate(ids):
            for b, n in enumerate(s.names):
                if n in names:
                    marks[a, b] = z['places'][i, names.index(n)]
        valid = np.zeros(z['pictures'][ids].shape, np.float32)
        for a, i in enumerate(ids):
            h, w, _ = z['sizes'][i]; P = valid.shape[-1]; valid[a, (P - h) // 2:(P - h) // 2 + h, (P - w) // 2:(P - w) // 2 + w] = 255
        real[e] = (torch.from_numpy(np.stack([z['pictures'][ids].astype(np.float32), valid], 1)).to(dev), torch.from_numpy(marks).to(dev))
        print('real', e, len(ids), flush=True)


def sample_real(e, n):
    x, y = real[e]; idx = torch.randint(len(x), (n,), device=dev); P = x.shape[-1]
    g, ul, inside, _, _ = geometry(e, idx, x[idx] / 255, y[idx], P, real=True)
    mb = V(n, 0, .3); g = g + mb * smooth(n, 4) * .3
    g, hidden = display(e, g, inside, real=True)
    return g, target_places(ul, inside & ~hidden), torch.isfinite(y[idx][..., 0]).float()


kept = [v for v in mean.state_dict().values() if v.dtype.is_floating_point]; now = [v for v in net.state_dict().values() if v.dtype.is_floating_point]
start = time.time(); step = 0; running = None
while True:
    spent = time.time() - start
    if spent > args.seconds:
        break
    done = spent / args.seconds; lr = 2e-3 * min(1, (step + 1) / 200) * .5 * (1 + math.cos(math.pi * done)) + 1e-5
    for gp in opt.param_groups:
        gp['lr'] = lr
    with torch.no_grad():
        made = [(e, *sample(e, 'train')) for e in EXAMS]
        if real and step % 2 == 0:
            made += [(e, *sample_real(e, args.batch // 2)) for e in real]
    xs = torch.cat([m[1] for m in made]).contiguous(memory_format=torch.channels_last)
    with torch.autocast(dev, dtype=torch.bfloat16):
        maps, none = net(xs)
    loss, at = 0, 0
    for e, x, y, known in made:
        s = sets[e]; n = len(x)
        loss = loss + loss_of(maps[at:at + n, s.first:s.last], none[at:at + n, s.first:s.last], y, known); at += n
    loss = loss / len(made)
    opt.zero_grad(set_to_none=True); loss.backward(); nn.utils.clip_grad_norm_(net.parameters(), 2.0); opt.step()
    with torch.no_grad():
        d = min(.998, (step + 1) / (step + 10))
        torch._foreach_lerp_(kept, now, 1 - d)
    running = loss.item() if running is None else (running if step % 20 else .8 * running + .2 * loss.item())
    if step % 300 == 0:
        print(f'{spent:6.0f} s, step {step}, loss {running:.3f}', flush=True)
    step += 1
print('steps', step, flush=True)

# The check: pictures of bodies kept apart, made by the same chance.
mean.eval(); stats = {}; raw_check = {}
with torch.no_grad():
    for e in EXAMS:
        s = sets[e]; E, S, Pr, M, Tr = [], [], [], [], []
        for _ in range(24):
            x, y, _ = sample(e, 'check'); maps, none = mean(x)
            at, spread, there, mass = decode(maps[:, s.first:s.last], none[:, s.first:s.last])
            E.append((at - y).norm(dim=-1)); S.append(spread); Pr.append(there); M.append(mass); Tr.append(y[..., 0] > -1e3)
        E, S, Pr, M, Tr = [torch.cat(z).cpu().numpy() for z in (E, S, Pr, M, Tr)]
        found = (Pr > .5) & (M > .4); ok = found & Tr; raw_check[e] = dict(error=E.astype(np.float32), spread=S, there=Pr, mass=M, seen=Tr)
        # Stated spread: sqrt((a spread^2) + b^2) of one coordinate, by least squares of squared errors in bins
        e2, s2 = (E[ok] ** 2) / 2, S[ok] ** 2 - SIGMA ** 2
        stats[e] = dict(points=s.names, median={n: float(np.median(E[:, k][ok[:, k]])) if ok[:, k].any() else None for k, n in enumerate(s.names)},
                        p90={n: float(np.percentile(E[:, k][ok[:, k]], 90)) if ok[:, k].any() else None for k, n in enumerate(s.names)},
                        found=float((found & Tr).sum() / Tr.sum()), false=float((found & ~Tr).sum() / max(1, (~Tr).sum())),
                        within1=float(np.mean(E[ok] / np.sqrt(2) < S[ok])), ratio=float(np.median(e2 / np.maximum(S[ok] ** 2, .05))))
        print(e, f"found {stats[e]['found']:.3f} false {stats[e]['false']:.3f} median {np.median(E[ok]):.2f} p90 {np.percentile(E[ok], 90):.2f} cells")
json.dump(stats, open(f'{args.out}/{args.name}-check.json', 'w'), indent=1)
np.savez_compressed(f'{args.out}/{args.name}-check.npz', **{f'{e}_{k}': v for e, r in raw_check.items() for k, v in r.items()})
dummy = torch.zeros(1, 1, SIDE, SIDE, device=dev)
torch.save(mean.state_dict(), f'{args.out}/{args.name}.pt')
meta = {'points': channels, 'side': SIDE, 'cells': CELLS}
json.dump(meta, open(f'{args.out}/{args.name}.json', 'w'), indent=1)
torch.onnx.export(mean, dummy, f'{args.out}/{args.name}.onnx', input_names=['picture'], output_names=['maps', 'absent'], opset_version=17, dynamo=False)
print('written', os.path.getsize(f'{args.out}/{args.name}.onnx'))
if args.real:
    # All marked radiographs, those learnt from apart: error in percent of the picture's width.
    rows = []
    for i in range(len(z['files'])):
        e = str(z['exam'][i]); s = sets[e]; h, w, _ = z['sizes'][i]
        x = torch.from_numpy(z['pictures'][i].astype(np.float32))[None, None].to(dev); P = x.shape[-1]
        x = F.interpolate(x, size=(SIDE, SIDE), mode='area')
        v = torch.zeros(P, P, device=dev); v[(P - h) // 2:(P - h) // 2 + h, (P - w) // 2:(P - w) // 2 + w] = 1
        v = (F.interpolate(v[None, None], size=(SIDE, SIDE), mode='area') > .5).float(); n = v.sum()
        m = (x * v).sum() / n; x = (x - m) / (((x - m) ** 2 * v).sum() / n).sqrt() * v
        with torch.no_grad():
            at, spread, there, mass = decode(*[q[:, s.first:s.last] for q in mean(x)])
        for k, name in enumerate(s.names):
            p = ((at[0, k].cpu().numpy() + .5) * P / CELLS) - .5
            true = z['places'][i, list(z['points']).index(name)] if name in list(z['points']) else np.array([np.nan, np.nan])
            rows.append([str(z['files'][i]), e, name, bool(z['tuning'][i]), float(p[0]), float(p[1]), float(spread[0, k]) * P / CELLS, float(there[0, k]), float(mass[0, k]), float(true[0]), float(true[1]), int(w)])
    json.dump(rows, open(f'{args.out}/{args.name}-real.json', 'w'))
    for e in EXAMS:
        for t in (True, False):
            q = [r for r in rows if r[1] == e and r[3] == t and np.isfinite(r[9])]
            f = [r for r in q if r[7] > .5 and r[8] > .4]
            if q:
                err = [100 * math.hypot(r[4] - r[9], r[5] - r[10]) / r[11] for r in f] or [float('nan')]
                print('real', e, 'tuning' if t else 'apart', f'{len(f)} of {len(q)} found, median {np.median(err):.2f} p90 {np.percentile(err, 90):.2f} percent of the width')
# pictures to look at
try:
    from PIL import Image
    rows = []
    for e in EXAMS:
        with torch.no_grad():
            x, y, _ = sample(e, 'check')
        r = []
        for i in range(8):
            g = x[i, 0].cpu().numpy(); g = np.clip(128 + 50 * g, 0, 255).astype(np.uint8)
            c = np.repeat(g[..., None], 3, -1)
            for q in y[i].cpu().numpy():
                if q[0] > -1e3:
                    c[max(0, int(q[1] * 2 + 1)), max(0, min(191, int(q[0] * 2 + 1)))] = (255, 60, 60)
            r.append(c)
        rows.append(np.hstack(r))
    Image.fromarray(np.vstack(rows)).save(f'{args.out}/{args.name}-pictures.png')
except Exception as error:
    print('no pictures:', error)
