# SPDX-License-Identifier: GPL-3.0-or-later
"""Trains the scale-insect network and writes it as ONNX. Needs PyTorch with a GPU.

  edamori_insect_scenes tune tuning 0 4000 1024 768 16
  edamori_insect_scenes check calibration 0 150 1024 768 16
  train.py --tuning tune --check check --minutes 6 --out insects.onnx

Fully convolutional; an answer for every cell of 4 x 4 px: logit of an insect's middle, its place
against the cell's middle (cells), and log2(radius / 5 px). It is made for radii of 3.2 ... 9.5 px;
larger insects are found on halved pictures. Cells near the middle are told apart by the focal loss
(Lin, Goyal, Girshick, He & Dollar 2017, ICCV, 2980-2988); looks are randomised (Tobin et al. 2017).
"""
import argparse
import glob
import io
import math
import os
import time
from concurrent.futures import ThreadPoolExecutor

import numpy
import torch
import torch.nn.functional as F
from PIL import Image
from torch import nn

CELL = 4
SMALLEST, LARGEST = 3.2, 9.5     # px, radii that a level answers for
SIDE = 384                       # px, of a training crop
MOST = 420                       # insects a picture


def layer(inputs, outputs, kernel=3, stride=1, dilation=1):
    pad = 1 if kernel == 4 else dilation
    return nn.Sequential(nn.Conv2d(inputs, outputs, kernel, stride, pad, dilation, bias=False),
                         nn.BatchNorm2d(outputs), nn.ReLU())


class InsectNet(nn.Module):
    """N x 3 x H x W in -0.5 ... 0.5 (H, W multiples of 4) to N x 4 x H/4 x W/4."""

    def __init__(self, width):
        super().__init__()
        self.first = layer(3, 16, 4, 2)
        self.second = layer(16, width, 3, 2)
        self.blocks = nn.ModuleList([layer(width, width, 3, 1, d) for d in (1, 2, 4, 2, 1)])
        self.last = nn.Sequential(nn.Conv2d(width, width, 1), nn.ReLU(), nn.Conv2d(width, 4, 1))
        nn.init.constant_(self.last[2].bias, 0.0)
        with torch.no_grad():
            self.last[2].bias[0] = -5.0

    def forward(self, x):
        x = self.second(self.first(x))
        for block in self.blocks:
            x = x + block(x)
        return self.last(x)


def read_scene(name, rng_seed, compress):
    picture = Image.open(name)
    rng = numpy.random.default_rng(rng_seed)
    if compress:
        held = io.BytesIO()
        picture.save(held, "JPEG", quality=int(rng.integers(70, 96)))
        picture = Image.open(held)
    pixels = torch.from_numpy(numpy.asarray(picture.convert("RGB")).copy()).permute(2, 0, 1)
    rows = [list(map(float, line.split())) for line in open(name[:-4] + ".txt").read().split("\n")[1:] if line]
    truth = torch.full((MOST, 4), -1e4)
    for k, row in enumerate(rows[:MOST]):
        truth[k] = torch.tensor(row[:4])
    return pixels, truth


def read_set(folder):
    names = sorted(glob.glob(os.path.join(folder, "*.ppm")))
    with ThreadPoolExecutor(16) as pool:
        scenes = list(pool.map(lambda k: read_scene(names[k], k, True), range(len(names))))
    return torch.stack([s[0] for s in scenes]).cuda(), torch.stack([s[1] for s in scenes]).cuda()


def grid_points(count, device):
    side = (torch.arange(count, device=device) + 0.5) * CELL
    return side


def targets(truth):
    """truth: B x K x 4 (x, y, r, visible) in crop px. Returns class (1, 0, -1 = ignore) and regression."""
    cells = SIDE // CELL
    at = grid_points(cells, truth.device)
    dx = truth[:, :, 0, None, None] - at[None, None, None, :]
    dy = truth[:, :, 1, None, None] - at[None, None, :, None]
    away = (dx * dx + dy * dy).sqrt()                      # B K cy cx
    r = truth[:, :, 2, None, None]
    seen = truth[:, :, 3, None, None]
    fits = (r >= SMALLEST) & (r <= LARGEST) & (seen >= 0.35)
    is_middle = fits & (away < torch.clamp(0.45 * r, min=3.0))
    unsure = (~is_middle) & (((r >= 2.4) & (r <= 12.0) & ~fits & (away < r)) | (fits & (away < torch.clamp(0.85 * r, min=4.5))))
    away_in = torch.where(is_middle, away, torch.full_like(away, 1e6))
    nearest, which = away_in.min(1)                        # B cy cx
    positive = nearest < 1e5
    label = torch.where(positive, 1, torch.where(unsure.any(1), -1, 0))
    pick = which[:, None]
    reg = torch.stack([dx.expand_as(away).gather(1, pick)[:, 0] / CELL, dy.expand_as(away).gather(1, pick)[:, 0] / CELL,
                       torch.log2(r.clamp(min=0.1) / 5.0).expand_as(away).gather(1, pick)[:, 0]], 1)
    return label, reg


def batch(pictures, truths, size, generator):
    n, _, h, w = pictures.shape
    device = pictures.device
    pick = torch.randint(n, (size,), device=device, generator=generator)
    uniform = lambda *shape: torch.rand(*shape, device=device, generator=generator)
    level = torch.multinomial(torch.tensor([0.5, 0.28, 0.22], device=device), size, True, generator=generator)
    scale = 0.5 ** level * torch.exp2((uniform(size) - 0.5) * 1.0)      # crop px per picture px
    # Where an insect is, two of three crops look.
    truth = truths[pick]
    has = (truth[:, :, 2] > 0)
    chosen = torch.multinomial(has.float() + 1e-6, 1, generator=generator)[:, 0]
    aim = truth[torch.arange(size, device=device), chosen, :2]
    free = torch.stack([uniform(size) * w, uniform(size) * h], 1)
    look = (uniform(size) < 0.66) & has.any(1)
    jitter = (uniform(size, 2) - 0.5) * 0.8 * SIDE / scale[:, None]
    middle = torch.where(look[:, None], aim + jitter, free)
    half = 0.5 * SIDE / scale
    lim = lambda v, hi: torch.where(half * 2 < hi, v.clamp(min=0).minimum(hi - half).maximum(half), torch.full_like(v, hi / 2))
    cx, cy = lim(middle[:, 0], w), lim(middle[:, 1], h)
    flip_x = torch.where(uniform(size) < 0.5, -1.0, 1.0)
    flip_y = torch.where(uniform(size) < 0.5, -1.0, 1.0)
    turn = uniform(size) < 0.5
    base = (torch.arange(SIDE, device=device) + 0.5 - SIDE / 2)
    crops = torch.empty(size, 3, SIDE, SIDE, device=device)
    out = torch.full_like(truth, -1e4)
    for lv in range(3):
        rows = (level == lv).nonzero()[:, 0]
        if len(rows) == 0:
            continue
        source = pictures[pick[rows]].float() / 255.0
        for _ in range(lv):
            source = F.avg_pool2d(source, 2)
        u = base[None, None, :].expand(len(rows), SIDE, SIDE)
        v = base[None, :, None].expand(len(rows), SIDE, SIDE)
        t = turn[rows, None, None]
        u, v = torch.where(t, v, u), torch.where(t, u, v)
        x = cx[rows, None, None] + flip_x[rows, None, None] * u / scale[rows, None, None]
        y = cy[rows, None, None] + flip_y[rows, None, None] * v / scale[rows, None, None]
        crops[rows] = F.grid_sample(source, torch.stack([2 * x / w - 1, 2 * y / h - 1], -1), mode="bilinear", padding_mode="reflection", align_corners=False)
    px = (truth[:, :, 0] - cx[:, None]) * scale[:, None] * flip_x[:, None]
    py = (truth[:, :, 1] - cy[:, None]) * scale[:, None] * flip_y[:, None]
    px, py = torch.where(turn[:, None], py, px), torch.where(turn[:, None], px, py)
    out = torch.stack([px + SIDE / 2, py + SIDE / 2, truth[:, :, 2] * scale[:, None], truth[:, :, 3]], 2)
    out = torch.where(has[:, :, None], out, torch.full_like(out, -1e4))
    # Insects inside the crop first, so that the distance table stays small.
    inside = has & (out[:, :, 0] > -20) & (out[:, :, 0] < SIDE + 20) & (out[:, :, 1] > -20) & (out[:, :, 1] < SIDE + 20)
    order = torch.argsort((~inside).int(), 1, stable=True)[:, :120]
    out = out.gather(1, order[:, :, None].expand(-1, -1, 4))
    return varied(crops, uniform), out


def varied(crops, uniform):
    n = len(crops)
    gain = torch.exp((uniform(n, 3, 1, 1) - 0.5) * 0.3) * torch.exp((uniform(n, 1, 1, 1) - 0.5) * 0.8)
    x = (crops * gain).clamp(0, 1) ** torch.exp((uniform(n, 1, 1, 1) - 0.5) * 0.8)
    grey = x.mean(1, keepdim=True)
    x = grey + (x - grey) * (0.55 + 0.9 * uniform(n, 1, 1, 1))
    soft = F.avg_pool2d(F.pad(x, (1, 1, 1, 1), mode="reflect"), 3, 1)
    mixed = uniform(n, 1, 1, 1)
    x = torch.where(mixed < 0.3, x + (soft - x) * uniform(n, 1, 1, 1), torch.where(mixed > 0.75, x + (x - soft) * uniform(n, 1, 1, 1), x))
    x = x + torch.randn_like(x) * 0.03 * uniform(n, 1, 1, 1)
    return x.clamp(0, 1) - 0.5


def loss_of(out, label, reg):
    logit = out[:, 0].float()
    p = logit.sigmoid()
    positive = label == 1
    count = positive.sum().clamp(min=20)
    pos = (F.softplus(-logit) * (1 - p) ** 1.0 * positive).sum()
    neg = (F.softplus(logit) * p ** 2.0 * (label == 0)).sum()
    place = F.smooth_l1_loss(out[:, 1:].float(), reg, reduction="none", beta=0.3).sum(1)
    place = torch.where(positive, place, torch.zeros_like(place)).sum()
    return (pos + neg + 0.7 * place) / count


def found_in(net, picture):
    """All answers of a picture, suppressed: list of (score, x, y, r)."""
    x = picture[None].float() / 255.0 - 0.5
    found = []
    for level in range(3):
        h, w = x.shape[2] // CELL * CELL, x.shape[3] // CELL * CELL
        out = net(x[:, :, :h, :w]).float()[0]
        score = out[0].sigmoid()
        keep = (score > 0.05) & (score == F.max_pool2d(score[None, None], 3, 1, 1)[0, 0])
        ys, xs = keep.nonzero(as_tuple=True)
        for y, xx in zip(ys.tolist(), xs.tolist()):
            o = out[:, y, xx].tolist()
            f = 2.0 ** level
            found.append((score[y, xx].item(), (xx + 0.5 + o[1]) * CELL * f, (y + 0.5 + o[2]) * CELL * f, 5.0 * 2.0 ** o[3] * f))
        x = F.avg_pool2d(x, 2)
    found.sort(reverse=True)
    kept = []
    for c in found:
        if all(math.hypot(c[1] - k[1], c[2] - k[2]) > 0.75 * max(c[3], k[3]) for k in kept):
            kept.append(c)
    return kept


def judged(net, pictures, truths):
    """Scores of right and false answers; the number of insects; false ones on pictures without."""
    right, false, blank, total, blanks = [], [], [], 0, 0
    with torch.no_grad():
        for picture, truth in zip(pictures, truths):
            insects = [t for t in truth.tolist() if t[2] > 0]
            must = [t for t in insects if t[3] >= 0.35]
            total += len(must)
            blanks += not insects
            taken = set()
            for c in found_in(net, picture):
                best, at = 1.0, None
                for k, t in enumerate(insects):
                    d = math.hypot(c[1] - t[0], c[2] - t[1]) / t[2]
                    if d < best and k not in taken:
                        best, at = d, k
                if at is not None:
                    taken.add(at)
                    if insects[at][3] >= 0.35:
                        right.append(c[0])
                else:
                    (false if insects else blank).append(c[0])
    return numpy.array(right), numpy.array(false), numpy.array(blank), total, blanks


def report(net, check):
    net.eval()
    right, false, blank, total, blanks = judged(net, *check)
    for threshold in (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7):
        found = (right >= threshold).sum()
        print(f"  {threshold:.1f}: recall {found / max(1, total):.3f}, false per true {((false >= threshold).sum() + (blank >= threshold).sum()) / max(1, found):.3f}, "
              f"false per bare photo {(blank >= threshold).sum() / max(1, blanks):.2f}", flush=True)
    net.train()


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--tuning", required=True)
    arguments.add_argument("--check", required=True)
    arguments.add_argument("--minutes", type=float, default=5)
    arguments.add_argument("--width", type=int, default=32)
    arguments.add_argument("--out", required=True)
    options = arguments.parse_args()
    torch.manual_seed(1)
    start = time.time()
    pictures, truths = read_set(options.tuning)
    check = read_set(options.check)
    print("read", len(pictures), len(check[0]), f"{time.time() - start:.0f} s", flush=True)
    net = InsectNet(options.width).cuda().to(memory_format=torch.channels_last)
    generator = torch.Generator(device="cuda").manual_seed(2)
    optimiser = torch.optim.AdamW(net.parameters(), lr=3e-3, weight_decay=1e-4)
    start = time.time()
    step, told = 0, 0
    while time.time() - start < options.minutes * 60:
        t = (time.time() - start) / (options.minutes * 60)
        for group in optimiser.param_groups:
            group["lr"] = 3e-3 * min(1, (step + 1) / 200) * 0.5 * (1 + math.cos(math.pi * min(1, t)))
        crops, truth = batch(pictures, truths, 48, generator)
        label, reg = targets(truth)
        with torch.autocast("cuda", torch.bfloat16):
            out = net(crops.contiguous(memory_format=torch.channels_last))
        loss = loss_of(out, label, reg)
        optimiser.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 5.0)
        optimiser.step()
        step += 1
        if t * 4 > told:
            told += 1
            print(step, f"{time.time() - start:.0f} s, loss {loss.item():.3f}", flush=True)
            report(net, (check[0][:50], check[1][:50]))
    net.eval()
    print("end", step, flush=True)
    report(net, check)
    net = net.float().cpu().to(memory_format=torch.contiguous_format)
    torch.onnx.export(net, torch.zeros(1, 3, 192, 192), options.out, input_names=["picture"], output_names=["answers"],
                      opset_version=11, dynamo=False)


main()
