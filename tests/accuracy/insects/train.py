# SPDX-License-Identifier: GPL-3.0-or-later
"""Trains the scale-insect network and writes it as ONNX. Needs PyTorch (1.13 or later), OpenCV, NumPy;
uses a GPU when there is one.

  edamori_insect_scenes tune tuning 0 2500 1024 768 16
  edamori_insect_scenes cal calibration 0 200 1024 768 16
  edamori_scene_set none/b boards tuning 0 100 1024; edamori_scene_set none/g gardens tuning 0 60 1024
  train.py --tuning tune --without none/b none/g --check cal --minutes 25 --out scale_insects.onnx

The folders may still be growing: what is new is taken in while it trains.

Fully convolutional; an answer for every cell of 4 x 4 px: logit of an insect's middle, its place
against the cell's middle (cells), and log2(radius / 5 px). It is made for radii of 3.2 ... 9.5 px;
larger insects are found on halved pictures. Sure cells weigh little: the focal loss (Lin, Goyal,
Girshick, He & Dollar 2017, ICCV, 2980-2988). Looks are randomised (Tobin et al. 2017, IROS, 23-30).
What the network gets wrong is shown to it more often (Sung & Poggio 1998, IEEE PAMI 20, 39-51).
"""
import argparse
import copy
import glob
import math
import os
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import cv2
import numpy
import torch
import torch.nn.functional as F
from torch import nn

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
from descent import Descent
from exported import write

CELL = 4
SMALLEST, LARGEST = 3.2, 9.5  # px, radii that a level answers for
SIDE = 128                    # px, of a training crop
LEVELS = 3
MOST = 40                     # insects a crop
INSECTS = 400                 # a scene
NOWHERE = -1e4                # px, of an insect that is not there
MINED_AT = (0.05, 0.25, 0.45, 0.65, 0.85)  # of the time: when its mistakes are looked for
MINED_FROM = 1000             # scenes each time

cv2.setNumThreads(1)


def layer(inputs, outputs, kernel=3, stride=1, dilation=1):
    return nn.Sequential(nn.Conv2d(inputs, outputs, kernel, stride, 1 if kernel == 4 else dilation, dilation, bias=False),
                         nn.BatchNorm2d(outputs), nn.ReLU())


class InsectNet(nn.Module):
    """N x 3 x H x W in -0.5 ... 0.5 (H, W multiples of 4) to N x 4 x H/4 x W/4."""

    def __init__(self, width, dilations):
        super().__init__()
        self.first = layer(3, 16, 4, 2)
        self.second = layer(16, width, 3, 2)
        self.blocks = nn.ModuleList([layer(width, width, 3, 1, d) for d in dilations])
        self.last = nn.Sequential(nn.Conv2d(width, width, 1), nn.ReLU(), nn.Conv2d(width, 4, 1))
        with torch.no_grad():
            self.last[2].bias.zero_()
            self.last[2].bias[0] = -5.0

    def forward(self, x):
        x = self.second(self.first(x))
        for block in self.blocks:
            x = x + block(x)
        return self.last(x)


def jpeg(picture, quality):
    return cv2.imdecode(cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])[1], cv2.IMREAD_COLOR)


def halved(picture):
    sizes = [cv2.cvtColor(picture, cv2.COLOR_BGR2RGB)]
    for _ in range(LEVELS - 1):
        h, w = sizes[-1].shape[:2]
        sizes.append(cv2.resize(sizes[-1], (w // 2, h // 2), interpolation=cv2.INTER_AREA))
    return sizes


def read_scene(name):
    """The picture, through JPEG, at each level, and its insects (x, y, radius, visible) in px."""
    picture = jpeg(cv2.imread(name), 70 + int(os.path.basename(name)[:5]) * 7 % 26)
    rows = [list(map(float, line.split()))[:4] for line in open(name[:-4] + ".txt").read().split("\n")[1:] if line]
    return halved(picture), numpy.array(rows, numpy.float32).reshape(-1, 4)


def read_without(name, size):
    """A picture that shows no insect, in the size of the scenes."""
    picture = cv2.imread(name)
    if picture.shape[0] > picture.shape[1]:
        picture = numpy.ascontiguousarray(picture.transpose(1, 0, 2))
    return halved(cv2.resize(picture, size, interpolation=cv2.INTER_AREA)), numpy.zeros((0, 4), numpy.float32)


class Scenes:
    """Pictures on the device: for each level N x H x W x 3 bytes; insects N x M x 4 in px of level 0.
    There is room for `most`; then the oldest go."""

    def __init__(self, read, size, most, device):
        w, h = size
        self.read, self.most, self.device = read, most, device
        self.levels = [torch.zeros(most, h >> k, w >> k, 3, dtype=torch.uint8, device=device) for k in range(LEVELS)]
        self.insects = torch.full((most, INSECTS, 4), NOWHERE, device=device)
        self.count, self.taken = 0, 0
        self.pool, self.coming, self.known = ThreadPoolExecutor(3), [], set()
        self.next_look = 0.0

    def look(self, folders, pattern):
        """Begins to read what is new in the folders."""
        names = [n for n in files_in(folders, pattern) if n not in self.known]
        self.known.update(names)
        self.coming += [self.pool.submit(self.read, n) for n in names]
        self.next_look = time.time() + 5

    def grow(self, wait=False):
        """Takes in what was read by now."""
        while self.coming and (wait or self.coming[0].done()):
            sizes, insects = self.coming.pop(0).result()
            place = self.taken % self.most
            for level, picture in zip(self.levels, sizes):
                level[place] = torch.from_numpy(picture).to(self.device)
            self.insects[place] = NOWHERE
            self.insects[place, :len(insects)] = torch.from_numpy(insects[:INSECTS]).to(self.device)
            self.taken += 1
            self.count = min(self.taken, self.most)


def drawn_from(scenes, size, mined=None):
    """Scene, level, scale (crop px for a px of the level) and middle (px of the level) of `size` crops."""
    rand = lambda *shape: torch.rand(*shape, device=scenes.device)
    level = torch.multinomial(torch.tensor([0.5, 0.28, 0.22], device=scenes.device), size, replacement=True)
    scene = (rand(size) * scenes.count).long()
    scale = 2.0 ** (rand(size) - 0.5)
    h, w = scenes.levels[0].shape[1:3]
    middle = rand(size, 2) * torch.tensor([w, h], device=scenes.device) * (0.5 ** level)[:, None]
    insects = scenes.insects[scene]
    radius = insects[:, :, 2] * (0.5 ** level * scale)[:, None]
    fitting = (radius > 2.5) & (radius < 12)
    chosen = torch.multinomial(fitting + 1e-6, 1)[:, 0]
    at = insects[torch.arange(size, device=scenes.device), chosen, :2] * (0.5 ** level)[:, None]
    near = fitting.any(1) & (rand(size) < 0.5)
    middle = torch.where(near[:, None], at + (rand(size, 2) - 0.5) * 0.8 * (SIDE / scale)[:, None], middle)
    if mined is not None and len(mined):
        picked = mined[(rand(size) * len(mined)).long()]
        again = rand(size) < 0.3
        scene = torch.where(again, picked[:, 0].long(), scene)
        level = torch.where(again, picked[:, 1].long(), level)
        middle = torch.where(again[:, None], picked[:, 2:] + (rand(size, 2) - 0.5) * 0.8 * (SIDE / scale)[:, None], middle)
    return scene, level, scale, middle


def turns(size, device):
    """Rotations, half of them by any angle, mirrored or not: B x 2 x 2, crop px to picture px."""
    angle = torch.rand(size, device=device) * 2 * math.pi
    angle = torch.where(torch.rand(size, device=device) < 0.5, angle, (angle / (math.pi / 2)).floor() * (math.pi / 2))
    c, s = angle.cos(), angle.sin()
    mirror = torch.where(torch.rand(size, device=device) < 0.5, -1.0, 1.0)
    return torch.stack([torch.stack([c * mirror, -s], 1), torch.stack([s * mirror, c], 1)], 1)


def seen(pictures, scene, place):
    """Colours at places (B x S x S x 2, px; beyond the picture its rim), between its pixels."""
    n, h, w = pictures.shape[:3]
    x = (place[..., 0] - 0.5).clamp(0, w - 1.001)
    y = (place[..., 1] - 0.5).clamp(0, h - 1.001)
    left, top = x.floor().long(), y.floor().long()
    a, b = (x - left)[..., None], (y - top)[..., None]
    rows = pictures.reshape(-1, 3)
    first = (scene[:, None, None] * h + top) * w + left
    of = lambda step: rows[first + step].float()
    return (of(0) * (1 - a) + of(1) * a) * (1 - b) + (of(w) * (1 - a) + of(w + 1) * a) * b


def crops_of(scenes, size, mined=None):
    """Crops of SIDE px at random sizes and turns (B x 3 x SIDE x SIDE, 0 ... 1), and the insects on them (B x MOST x 4)."""
    scene, level, scale, middle = drawn_from(scenes, size, mined)
    sizes = torch.tensor([[v.shape[2], v.shape[1]] for v in scenes.levels], device=scenes.device).float()[level]
    half = torch.minimum((0.5 * SIDE / scale)[:, None], 0.5 * sizes)
    middle = torch.maximum(torch.minimum(middle, sizes - half), half)
    turn = turns(size, scenes.device)
    line = torch.arange(SIDE, device=scenes.device) + 0.5 - SIDE / 2
    grid = torch.stack(torch.meshgrid(line, line, indexing="xy"), -1)
    place = torch.einsum("bij,yxj->byxi", turn, grid) / scale[:, None, None, None] + middle[:, None, None]
    crops = torch.empty(size, SIDE, SIDE, 3, device=scenes.device)
    for k, pictures in enumerate(scenes.levels):
        mine = (level == k).nonzero()[:, 0]
        crops[mine] = seen(pictures, scene[mine], place[mine])
    on = scenes.insects[scene]
    there = on[:, :, 2] > 0
    on[:, :, :3] *= (0.5 ** level)[:, None, None]
    on[:, :, :2] = torch.einsum("bji,bkj->bki", turn, on[:, :, :2] - middle[:, None]) * scale[:, None, None] + SIDE / 2
    on[:, :, 2] *= scale[:, None]
    there &= (on[:, :, :2] > -16).all(2) & (on[:, :, :2] < SIDE + 16).all(2)
    on = torch.where(there[..., None], on, torch.full_like(on, NOWHERE))
    nearest = (on[:, :, :2] - SIDE / 2).norm(dim=2).topk(MOST, largest=False)[1]
    on = on.gather(1, nearest[..., None].expand(-1, -1, 4))
    return crops.permute(0, 3, 1, 2) / 255.0, on


def batch(scenes, without, mistakes, size):
    """`size` crops, one of seven of pictures without insects."""
    bare = size // 7 if without.count else 0
    crops, on = crops_of(scenes, size - bare, mistakes[0])
    if bare:
        others, none = crops_of(without, bare, mistakes[1])
        crops, on = torch.cat([crops, others]), torch.cat([on, none])
    grained = size // 3  # the first: they are in no order
    crops[:grained] = on_other_bark(crops[:grained], on[:grained], scenes)
    return varied(crops), on


def beside_insects(on):
    """1 where no insect is, 0 on insects, between at their rims: B x 1 x SIDE x SIDE."""
    half = SIDE // 2
    line = (torch.arange(half, device=on.device) + 0.5) * 2
    dx = on[:, :, 0, None, None] - line[None, None, None, :]
    dy = on[:, :, 1, None, None] - line[None, None, :, None]
    outside = ((dx * dx + dy * dy).sqrt() / on[:, :, 2, None, None].clamp(min=0.1) - 1.0) / 0.15
    outside = torch.where(on[:, :, 2, None, None] > 0, outside, torch.ones_like(outside))
    return F.interpolate(outside.amin(1).clamp(0, 1)[:, None], scale_factor=2.0, mode="bilinear", align_corners=False)


def grain(size, device):
    """Drawn relief of bark, drawn out along some direction or in none: B x 1 x SIDE x SIDE, about -1 ... 1."""
    uniform = lambda low, high: torch.rand(size, device=device) * (high - low) + low
    angle, across = uniform(0, math.pi), torch.exp2(uniform(1.3, 4.6))  # px a knot of the noise
    along = across * torch.exp2(uniform(0, 3.5) * (uniform(0, 1) < 0.7))
    total = 0.0
    for octave in range(3):
        c, s = angle.cos() * SIDE / 64, angle.sin() * SIDE / 64
        a, b = along * 0.5 ** octave, across * 0.5 ** octave
        theta = torch.stack([torch.stack([c / a, s / a, uniform(-1, 1)], 1), torch.stack([-s / b, c / b, uniform(-1, 1)], 1)], 1)
        grid = F.affine_grid(theta, (size, 1, SIDE, SIDE), align_corners=False)
        noise = torch.randn(size, 1, 64, 64, device=device)
        total = total + 0.6 ** octave * F.grid_sample(noise, grid, padding_mode="reflection", align_corners=False)
    ridged = (uniform(0, 1) < 0.4)[:, None, None, None]
    return torch.where(ridged, 1 - 2 * total.abs(), total)


def on_other_bark(crops, on, scenes):
    """The insects as they are, their bark in another colour and with another grain: a drawn one, or that
    of another crop without insects."""
    n = len(crops)
    uniform = lambda low, high, *shape: torch.rand(n, *shape, device=crops.device) * (high - low) + low
    drawn = torch.exp(grain(n, crops.device) * uniform(0.05, 0.45, 1, 1, 1))
    other, theirs = crops_of(scenes, n)
    grey = other.mean(1, keepdim=True) + 0.02
    borrowed = (grey / F.avg_pool2d(F.pad(grey, (10, 10, 10, 10), mode="reflect"), 21, 1)).clamp(0.3, 2.5) ** uniform(0.3, 1.1, 1, 1, 1)
    is_bare = (theirs[:, :, 2] <= 0).all(1)[:, None, None, None]
    factor = torch.where(is_bare & (uniform(0, 1, 1, 1, 1) < 0.5), borrowed, drawn)
    factor = factor * torch.exp(uniform(-0.3, 0.3, 3, 1, 1) * (uniform(0, 1, 1, 1, 1) < 0.5))
    # Places that keep their bark, too: what differs from its surroundings is not thereby an insect.
    decoys = torch.cat([uniform(0, SIDE, 4, 2), torch.exp2(uniform(1.7, 3.6, 4, 1)), uniform(0, 1, 4, 1)], 2)
    decoys[:, :, :3] = torch.where(decoys[:, :, 3:] < 0.5, decoys[:, :, :3], torch.full_like(decoys[:, :, :3], NOWHERE))
    beside = beside_insects(torch.cat([on, decoys], 1))
    return (crops * (1 + beside * (factor - 1))).clamp(0, 1)


@torch.no_grad()
def mined(net, scenes, most=60000):
    """Places that the network takes for insects though there is none, and insects that it does not see."""
    found = []
    which = torch.randperm(scenes.count, device=scenes.device)[:MINED_FROM]
    for k, pictures in enumerate(scenes.levels):
        for some in which.split(8):
            x = pictures[some].permute(0, 3, 1, 2).float() / 255.0 - 0.5
            truth = scenes.insects[some]
            truth = truth[:, :max(1, int((truth[:, :, 2] > 0).sum(1).max()))].clone()
            truth[:, :, :3] = torch.where(truth[:, :, 2:3] > 0, truth[:, :, :3] * 0.5 ** k, truth[:, :, :3])
            label, _ = targets(truth, x.shape[2], x.shape[3])
            p = net(x)[:, :1].float().sigmoid()
            peak = (F.max_pool2d(p, 3, 1, 1) == p)[:, 0]
            wrong = torch.where(label == 0, p[:, 0] * peak * (p[:, 0] > 0.15), (label == 1) * (1 - p[:, 0]) * (p[:, 0] < 0.4))
            at = (torch.rand_like(wrong) < wrong).nonzero()
            middle = (at.flip(1)[:, :2] + 0.5) * CELL
            found.append(torch.cat([some[at[:, 0]][:, None], torch.full_like(at[:, :1], k), middle], 1).float())
    found = torch.cat(found) if found else torch.zeros(0, 4, device=scenes.device)
    return found[torch.randperm(len(found), device=found.device)[:most]]


def varied(x):
    n = len(x)
    uniform = lambda *shape: torch.rand(n, *shape, device=x.device)
    gain = torch.exp((uniform(3, 1, 1) - 0.5) * 0.4) * torch.exp((uniform(1, 1, 1) - 0.5) * 0.8)
    x = (x * gain).clamp(0, 1) ** torch.exp((uniform(1, 1, 1) - 0.5) * 0.8)
    grey = x.mean(1, keepdim=True)
    x = grey + (x - grey) * (0.55 + 0.9 * uniform(1, 1, 1))
    soft = F.avg_pool2d(F.pad(x, (1, 1, 1, 1), mode="reflect"), 3, 1)
    mixed = uniform(1, 1, 1)
    x = torch.where(mixed < 0.3, x + (soft - x) * uniform(1, 1, 1),
                    torch.where(mixed > 0.75, x + (x - soft) * uniform(1, 1, 1), x))
    return (x + torch.randn_like(x) * 0.03 * uniform(1, 1, 1)).clamp(0, 1) - 0.5


def targets(truth, height=SIDE, width=SIDE):
    """truth: B x K x 4. Class of each cell (1, 0, -1 = not asked), and what it should say of the place."""
    across = (torch.arange(width // CELL, device=truth.device) + 0.5) * CELL
    down = (torch.arange(height // CELL, device=truth.device) + 0.5) * CELL
    dx = truth[:, :, 0, None, None] - across[None, None, None, :]
    dy = truth[:, :, 1, None, None] - down[None, None, :, None]
    away = (dx * dx + dy * dy).sqrt()  # B K cy cx
    r = truth[:, :, 2, None, None]
    fits = (r >= SMALLEST) & (r <= LARGEST) & (truth[:, :, 3, None, None] >= 0.35)
    middle = fits & (away < torch.clamp(0.45 * r, min=3.0))
    unsure = ~middle & (((r >= 2.4) & (r <= 12.0) & ~fits & (away < r)) | (fits & (away < torch.clamp(0.85 * r, min=4.5))))
    nearest, which = torch.where(middle, away, torch.full_like(away, 1e6)).min(1)
    positive = nearest < 1e5
    label = torch.where(positive, 1, torch.where(unsure.any(1), -1, 0))
    pick = which[:, None]
    of = lambda v: v.expand_as(away).gather(1, pick)[:, 0]
    return label, torch.stack([of(dx) / CELL, of(dy) / CELL, of(torch.log2(r.clamp(min=0.1) / 5.0))], 1)


def loss_of(out, label, place):
    logit = out[:, 0].float()
    p = logit.sigmoid()
    positive = label == 1
    count = positive.sum().clamp(min=20)
    off = F.smooth_l1_loss(out[:, 1:].float(), place, reduction="none", beta=0.3).sum(1)
    return ((F.softplus(-logit) * (1 - p) * positive).sum() + (F.softplus(logit) * p ** 2 * (label == 0)).sum()
            + 0.7 * torch.where(positive, off, torch.zeros_like(off)).sum()) / count


def train(net, scenes, without, checked, options):
    descent = Descent(net, options.rate, longest=5.0)
    kept = descent.kept
    kept.net.eval()
    start, step, total, looks, mistakes = time.time(), 0, 0.0, 0, (None, None)
    next_write = 60 * options.look
    while (done := (time.time() - start) / (60 * options.minutes)) < 1:
        if looks < len(MINED_AT) and done > MINED_AT[looks]:
            mistakes, looks = (mined(kept.net, scenes), mined(kept.net, without)), looks + 1
            print([len(m) for m in mistakes], "mistakes", f"{time.time() - start:.0f} s,", scenes.taken, "scenes,", without.taken, "without", flush=True)
        if step % 20 == 0:
            take_in(scenes, without, options)
        with torch.no_grad():
            crops, truth = batch(scenes, without, mistakes, options.batch)
            label, place = targets(truth)
        with torch.autocast(scenes.device, torch.bfloat16):
            out = net(crops.contiguous(memory_format=torch.channels_last))
        loss = loss_of(out, label, place)
        descent.step(loss, done)
        step = descent.steps
        total += float(loss.detach()) if step % 50 == 0 else 0.0
        if step % 1000 == 0:
            print(step, f"{time.time() - start:.0f} s, loss {total / 20:.4f}", flush=True)
            total = 0.0
        if time.time() - start > next_write:
            next_write += 60 * options.look
            if checked:
                check(kept.net, checked, scenes.device)
            write(kept.net, options.out, 192, ["answers"])
    print(step, "batches", flush=True)
    return kept.net


def take_in(scenes, without, options):
    if time.time() > scenes.next_look:
        scenes.look([options.tuning], "*.ppm")
        without.look(options.without, "*.jpg")
    scenes.grow()
    without.grow()


def files_in(folders, pattern):
    return sum((sorted(glob.glob(os.path.join(folder, pattern))) for folder in folders), [])


def found_on(net, sizes, device):
    """What vision/insects would find, before Platt's two numbers: rows of logit, x, y, radius, best first."""
    answers = []
    for k, picture in enumerate(sizes):
        x = torch.from_numpy(picture).to(device).permute(2, 0, 1)[None].float() / 255.0 - 0.5
        h, w = x.shape[2:]
        out = net(F.pad(x, (40, 40 + -w % CELL, 40, 40 + -h % CELL), mode="replicate"))[0].float()
        peak = (F.max_pool2d(out[None, :1], 3, 1, 1)[0, 0] == out[0]) & (out[0] > -1.5)
        at = peak.nonzero()
        logit, right, down, size = out[:, at[:, 0], at[:, 1]]
        place = torch.stack([(at[:, 1] + 0.5 + right) * CELL - 40, (at[:, 0] + 0.5 + down) * CELL - 40], 1)
        inside = (place >= 0).all(1) & (place[:, 0] < w) & (place[:, 1] < h)
        rows = torch.cat([logit[:, None], place * 2.0 ** k, (5 * 2.0 ** size.clamp(-2, 2) * 2.0 ** k)[:, None]], 1)
        answers.append(rows[inside].cpu().numpy())
    answers = numpy.concatenate(answers)
    answers = answers[(answers[:, 3] >= 3.2) & (answers[:, 3] <= 40)]
    answers = answers[numpy.argsort(-answers[:, 0], kind="stable")][:3000]
    kept = numpy.zeros((0, 4))
    for row in answers:
        away = numpy.hypot(kept[:, 1] - row[1], kept[:, 2] - row[2])
        if not (away < 0.75 * numpy.maximum(kept[:, 3], row[3])).any():
            kept = numpy.concatenate([kept, row[None]])
    return kept


def judged(answers, insects):
    """Logits of right answers and of false ones, as tests/accuracy/insects/judged.cpp counts them."""
    right, wrong, taken = [], [], numpy.zeros(len(insects), bool)
    for logit, x, y, _ in answers:
        away = numpy.hypot(insects[:, 0] - x, insects[:, 1] - y) / insects[:, 2] + 1e3 * taken
        best = away.argmin() if len(away) else -1
        if best < 0 or away[best] >= 1:
            wrong.append(logit)
            continue
        taken[best] = True
        if insects[best, 3] >= 0.35:
            right.append(logit)
    return right, wrong


def platt(x, y):
    """Slope and shift that make logits x of answers that were right (y = 1) or not into probabilities."""
    a, b = 1.0, 0.0
    for _ in range(50):
        p = 1 / (1 + numpy.exp(-numpy.clip(a * x + b, -50, 50)))
        w = p * (1 - p)
        gradient = numpy.array([((y - p) * x).sum(), (y - p).sum()])
        a, b = numpy.array([a, b]) + numpy.linalg.solve([[(w * x * x).sum() + 1e-9, (w * x).sum()], [(w * x).sum(), w.sum() + 1e-9]], gradient)
    return a, b


@torch.no_grad()
def check(net, checked, device):
    """Recall, false answers for a true one, false answers on a bare picture; from each score on."""
    every = []
    for look, sizes, insects in checked:
        every.append((look, insects, *judged(found_on(net, sizes, device), insects)))
    right = numpy.array(sum((e[2] for e in every), []))
    wrong = numpy.array(sum((e[3] for e in every), []))
    a, b = platt(numpy.concatenate([right, wrong]), numpy.concatenate([numpy.ones(len(right)), numpy.zeros(len(wrong))]))
    print(f"{len(every)} pictures to check; Platt's numbers: {a:.4f} * logit + {b:.4f}")

    def line(name, some, score):
        least = (math.log(score / (1 - score)) - b) / a
        count = lambda logits: sum(x >= least for x in logits)
        bare = [e for e in some if not len(e[1])]
        must = sum(int((e[1][:, 3] >= 0.35).sum()) for e in some)
        hits = sum(count(e[2]) for e in some)
        print(f"  {name}: insects {must} recall {hits / max(1, must):.3f} false per true "
              f"{sum(count(e[3]) for e in some if len(e[1])) / max(1, hits):.3f} "
              f"bare {len(bare)} false per bare picture {sum(count(e[3]) for e in bare) / max(1, len(bare)):.2f}", flush=True)
    for score in (0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.7, 0.9):
        line(f"from {score:.2f}", every, score)
    for look in sorted({e[0] for e in every}):
        line(look + " from 0.20", [e for e in every if e[0] == look], 0.2)


def read_checked(name):
    picture = jpeg(cv2.imread(name), 72 + int(os.path.basename(name)[:5]) * 7 % 24)
    lines = open(name[:-4] + ".txt").read().split("\n")
    rows = [list(map(float, line.split()))[:4] for line in lines[1:] if line]
    return lines[0], halved(picture), numpy.array(rows, numpy.float32).reshape(-1, 4)


def cost(net):
    """Multiplications and additions for a cell of CELL x CELL px."""
    return sum(m.weight.numel() * (4 if m is net.first[0] else 1) for m in net.modules() if isinstance(m, nn.Conv2d))


def arguments():
    parser = argparse.ArgumentParser()
    parser.add_argument("--tuning", required=True)
    parser.add_argument("--without", nargs="*", default=[], help="folders of other pictures (.jpg) without insects")
    parser.add_argument("--check", help="folder of calibration scenes")
    parser.add_argument("--size", type=int, nargs=2, default=(1024, 768), help="px, of the scenes")
    parser.add_argument("--most", type=int, nargs=2, default=(6000, 600), help="scenes, others without insects, in memory")
    parser.add_argument("--minutes", type=float, default=25)
    parser.add_argument("--look", type=float, default=5, help="minutes between checks")
    parser.add_argument("--width", type=int, default=36)
    parser.add_argument("--dilations", type=int, nargs="+", default=(1, 1, 1, 2, 2, 1, 1, 1), help="their sum at most 10")
    parser.add_argument("--batch", type=int, default=256)
    parser.add_argument("--rate", type=float, default=3e-3, help="greatest step of the weights")
    parser.add_argument("--start", help="weights to go on from: the .pt beside an earlier --out")
    parser.add_argument("--out", required=True)
    return parser.parse_args()


def main():
    options = arguments()
    torch.manual_seed(1)
    torch.backends.cudnn.benchmark = True
    device = "cuda" if torch.cuda.is_available() else "cpu"
    size = tuple(options.size)
    scenes = Scenes(read_scene, size, options.most[0], device)
    without = Scenes(lambda name: read_without(name, size), size, options.most[1], device)
    with ThreadPoolExecutor(3) as pool:
        checked = list(pool.map(read_checked, files_in([options.check], "*.ppm"))) if options.check else []
    scenes.look([options.tuning], "*.ppm")
    scenes.grow(wait=True)
    print(scenes.count, "scenes,", len(checked), "to check", flush=True)
    net = InsectNet(options.width, options.dilations)
    print(cost(net), "multiplications for 16 px", flush=True)
    if options.start:
        net.load_state_dict(torch.load(options.start))
    net = net.to(device, memory_format=torch.channels_last)
    if options.start and checked:
        check(copy.deepcopy(net).eval(), checked, device)
    if options.minutes > 0:
        net = train(net, scenes, without, checked, options)
    if checked:
        check(net.eval(), checked, device)
    write(net, options.out, 192, ["answers"])


if __name__ == "__main__":
    main()
