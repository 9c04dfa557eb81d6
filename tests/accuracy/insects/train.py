# SPDX-License-Identifier: GPL-3.0-or-later
"""Trains the scale-insect network and writes it as ONNX. Needs PyTorch (1.13 or later), OpenCV, NumPy; no GPU.

  edamori_insect_scenes tune tuning 0 420 1024 768 2
  train.py --tuning tune --minutes 15 --out scale_insects.onnx

Fully convolutional; an answer for every cell of 4 x 4 px: logit of an insect's middle, its place
against the cell's middle (cells), and log2(radius / 5 px). It is made for radii of 3.2 ... 9.5 px;
larger insects are found on halved pictures. Sure cells weigh little: the focal loss (Lin, Goyal,
Girshick, He & Dollar 2017, ICCV, 2980-2988). Looks are randomised (Tobin et al. 2017, IROS, 23-30).
"""
import argparse
import glob
import math
import os
import time
from concurrent.futures import ThreadPoolExecutor

import cv2
import numpy
import torch
import torch.nn.functional as F
from torch import nn

CELL = 4
SMALLEST, LARGEST = 3.2, 9.5  # px, radii that a level answers for
SIDE = 128                    # px, of a training crop
LEVELS = 3
MOST = 40                     # insects a crop

cv2.setNumThreads(1)


def layer(inputs, outputs, kernel=3, stride=1, dilation=1):
    return nn.Sequential(nn.Conv2d(inputs, outputs, kernel, stride, 1 if kernel == 4 else dilation, dilation, bias=False),
                         nn.BatchNorm2d(outputs), nn.ReLU())


class InsectNet(nn.Module):
    """N x 3 x H x W in -0.5 ... 0.5 (H, W multiples of 4) to N x 4 x H/4 x W/4."""

    def __init__(self, width):
        super().__init__()
        self.first = layer(3, 16, 4, 2)
        self.second = layer(16, width, 3, 2)
        self.blocks = nn.ModuleList([layer(width, width, 3, 1, d) for d in (1, 2, 4, 2, 1)])
        self.last = nn.Sequential(nn.Conv2d(width, width, 1), nn.ReLU(), nn.Conv2d(width, 4, 1))
        with torch.no_grad():
            self.last[2].bias.zero_()
            self.last[2].bias[0] = -5.0

    def forward(self, x):
        x = self.second(self.first(x))
        for block in self.blocks:
            x = x + block(x)
        return self.last(x)


def read_scene(name):
    """Three sizes of the picture, each through JPEG, and its insects (x, y, radius, visible) in px."""
    picture = cv2.imread(name)
    quality = 70 + int(os.path.basename(name)[:5]) * 7 % 26
    picture = cv2.imdecode(cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, quality])[1], cv2.IMREAD_COLOR)
    sizes = [cv2.cvtColor(picture, cv2.COLOR_BGR2RGB)]
    for _ in range(LEVELS - 1):
        h, w = sizes[-1].shape[:2]
        sizes.append(cv2.resize(sizes[-1], (w // 2, h // 2), interpolation=cv2.INTER_AREA))
    rows = [list(map(float, line.split()))[:4] for line in open(name[:-4] + ".txt").read().split("\n")[1:] if line]
    return sizes, numpy.array(rows, numpy.float32).reshape(-1, 4)


def crop_of(scene, rng):
    """A crop of SIDE px at a random size and turn, and the insects on it."""
    sizes, insects = scene
    level = rng.choice(LEVELS, p=(0.5, 0.28, 0.22))
    scale = 2.0 ** rng.uniform(-0.5, 0.5)                # crop px per level px
    picture = sizes[level]
    h, w = picture.shape[:2]
    side = min(int(round(SIDE / scale)), h, w)
    middle = numpy.array([rng.uniform(0, w), rng.uniform(0, h)])
    fitting = insects[(insects[:, 2] * 0.5 ** level * scale > 2.5) & (insects[:, 2] * 0.5 ** level * scale < 12)]
    if len(fitting) and rng.random() < 0.6:
        middle = fitting[rng.integers(len(fitting)), :2] * 0.5 ** level + rng.uniform(-0.4, 0.4, 2) * side
    left = int(numpy.clip(middle[0] - side / 2, 0, w - side))
    top = int(numpy.clip(middle[1] - side / 2, 0, h - side))
    crop = cv2.resize(picture[top:top + side, left:left + side], (SIDE, SIDE), interpolation=cv2.INTER_LINEAR)
    factor = SIDE / side
    on = insects.copy()
    on[:, :3] *= 0.5 ** level
    on[:, 0] = (on[:, 0] - left) * factor
    on[:, 1] = (on[:, 1] - top) * factor
    on[:, 2] *= factor
    on = on[(on[:, :2] > -16).all(1) & (on[:, :2] < SIDE + 16).all(1)]
    if rng.random() < 0.5:
        crop, on[:, 0] = crop[:, ::-1], SIDE - on[:, 0]
    if rng.random() < 0.5:
        crop, on[:, 1] = crop[::-1], SIDE - on[:, 1]
    if rng.random() < 0.5:
        crop, on[:, :2] = crop.transpose(1, 0, 2), on[:, 1::-1].copy()
    if len(on) > MOST:
        on = on[numpy.argsort(numpy.hypot(on[:, 0] - SIDE / 2, on[:, 1] - SIDE / 2))]
    truth = numpy.full((MOST, 4), -1e4, numpy.float32)
    truth[:min(MOST, len(on))] = on[:MOST]
    return numpy.ascontiguousarray(crop), truth


def batch(scenes, size, rng):
    made = [crop_of(scenes[rng.integers(len(scenes))], rng) for _ in range(size)]
    crops = torch.from_numpy(numpy.stack([m[0] for m in made])).permute(0, 3, 1, 2).float() / 255.0
    return varied(crops), torch.from_numpy(numpy.stack([m[1] for m in made]))


def varied(x):
    n = len(x)
    uniform = lambda *shape: torch.rand(n, *shape)
    gain = torch.exp((uniform(3, 1, 1) - 0.5) * 0.3) * torch.exp((uniform(1, 1, 1) - 0.5) * 0.8)
    x = (x * gain).clamp(0, 1) ** torch.exp((uniform(1, 1, 1) - 0.5) * 0.8)
    grey = x.mean(1, keepdim=True)
    x = grey + (x - grey) * (0.55 + 0.9 * uniform(1, 1, 1))
    soft = F.avg_pool2d(F.pad(x, (1, 1, 1, 1), mode="reflect"), 3, 1)
    mixed = uniform(1, 1, 1)
    x = torch.where(mixed < 0.3, x + (soft - x) * uniform(1, 1, 1),
                    torch.where(mixed > 0.75, x + (x - soft) * uniform(1, 1, 1), x))
    return (x + torch.randn_like(x) * 0.03 * uniform(1, 1, 1)).clamp(0, 1) - 0.5


def targets(truth):
    """truth: B x K x 4. Class of each cell (1, 0, -1 = not asked), and what it should say of the place."""
    at = (torch.arange(SIDE // CELL) + 0.5) * CELL
    dx = truth[:, :, 0, None, None] - at[None, None, None, :]
    dy = truth[:, :, 1, None, None] - at[None, None, :, None]
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


def train(net, scenes, options):
    optimiser = torch.optim.AdamW(net.parameters(), lr=options.rate, weight_decay=1e-4)
    end = options.minutes * 60
    start, step, smooth = time.time(), 0, 0.0
    maker = ThreadPoolExecutor(1)
    rng = numpy.random.default_rng(3)
    coming = maker.submit(batch, scenes, options.batch, rng)
    while time.time() - start < end:
        t = min(1.0, (time.time() - start) / end)
        for group in optimiser.param_groups:
            group["lr"] = options.rate * min(1, (step + 1) / 100) * 0.5 * (1 + math.cos(math.pi * t))
        crops, truth = coming.result()
        coming = maker.submit(batch, scenes, options.batch, rng)
        label, place = targets(truth)
        with torch.autocast("cpu", torch.bfloat16):
            out = net(crops.contiguous(memory_format=torch.channels_last))
        loss = loss_of(out, label, place)
        optimiser.zero_grad()
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 5.0)
        optimiser.step()
        step += 1
        smooth += (loss.item() - smooth) * max(0.01, 1 / step)
        if step % 100 == 0:
            print(step, f"{time.time() - start:.0f} s, loss {smooth:.3f}", flush=True)
            torch.save(net.state_dict(), options.out + ".kept")


def main():
    arguments = argparse.ArgumentParser()
    arguments.add_argument("--tuning", required=True)
    arguments.add_argument("--minutes", type=float, default=15)
    arguments.add_argument("--width", type=int, default=32)
    arguments.add_argument("--batch", type=int, default=32)
    arguments.add_argument("--rate", type=float, default=3e-3, help="greatest step of the weights")
    arguments.add_argument("--start", help="weights to go on from")
    arguments.add_argument("--out", required=True)
    options = arguments.parse_args()
    torch.manual_seed(1)
    with ThreadPoolExecutor(2) as pool:
        scenes = list(pool.map(read_scene, sorted(glob.glob(os.path.join(options.tuning, "*.ppm")))))
    print(len(scenes), "scenes", flush=True)
    net = InsectNet(options.width).to(memory_format=torch.channels_last)
    if options.start:
        net.load_state_dict(torch.load(options.start))
    if options.minutes > 0:
        train(net, scenes, options)
    net = net.float().eval().to(memory_format=torch.contiguous_format)
    torch.onnx.export(net, torch.zeros(1, 3, 192, 192), options.out, input_names=["picture"], output_names=["answers"],
                      opset_version=11)


main()
