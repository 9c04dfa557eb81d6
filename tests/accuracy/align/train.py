# SPDX-License-Identifier: GPL-3.0-or-later
"""Trains the network that tells where a part of a tree lies on another photo of it (vision/align/likeness)
and writes it as ONNX.

Needs PyTorch, and a GPU to be of use. Pictures are those that edamori_scene_set draws as views:

  train.py --views DIR [--minutes M] --out FILE.onnx

Two photos of one tree, the second laid on the first as roughly as scale-invariant features manage,
are reduced to cells of 4 x 4 px. Each cell of the first is to find its own cell within a window of the
second, or to say that it is not there: hidden, fallen, another leaf, another tree in the same pot.

Method: cross-entropy of the softmax over the window and one answer for "not there" (as the dustbin of Sarlin
et al. 2020, CVPR, 4938-4947), on dot products of dense descriptors (contrastive, van den Oord et al. 2018,
arXiv:1807.03748). Truth comes of the scenes' depth. The network is a U-Net with additive skips
(Ronneberger, Fischer & Brox 2015, MICCAI 9351, 234-241).
"""
import argparse
import math
import os
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import numpy
import torch
import torch.nn.functional as F
from PIL import Image
from torch import nn

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
from descent import Descent
from exported import ANY_SIZE, write
from relit import relit

CELL = 4                    # px
REACH = 15                  # cells that a window reaches each way
SIDE, AROUND = 256, 64      # px of the first photo's window; how far that of the second reaches beyond it
WIDTHS = (16, 32, 48, 64, 64)
LENGTH = 24                 # of a descriptor
PICKED = 512                # cells of a window that are asked
SEED = 20261128
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


def block(inputs, outputs, stride=1, kernel=3):
    return nn.Sequential(nn.Conv2d(inputs, outputs, kernel, stride, 1, bias=False), nn.BatchNorm2d(outputs), nn.ReLU())


class LikenessNet(nn.Module):
    """3 x H x W in -0.5...0.5 (H, W multiples of 32) to LENGTH + 1 x H/4 x W/4: descriptors, and how much
    speaks for "not there"."""

    def __init__(self):
        super().__init__()
        self.first = nn.Sequential(block(3, WIDTHS[0], 2, 4), block(WIDTHS[0], WIDTHS[0]))
        self.down = nn.ModuleList(nn.Sequential(block(a, b), block(b, b)) for a, b in zip(WIDTHS, WIDTHS[1:]))
        self.reduce = nn.ModuleList(nn.Conv2d(b, a, 1) for a, b in zip(WIDTHS[1:], WIDTHS[2:]))
        self.up = nn.ModuleList(block(a, a) for a in WIDTHS[1:-1])
        self.last = nn.Conv2d(WIDTHS[1], LENGTH + 1, 1)

    def forward(self, x):
        x = self.first(x)
        skips = []
        for down in self.down:
            x = down(F.max_pool2d(x, 2))
            skips.append(x)
        for i in range(len(self.up) - 1, -1, -1):
            x = F.interpolate(self.reduce[i](x), scale_factor=2.0, mode="nearest")
            x = self.up[i](x + skips[i])
        return self.last(x)


class Views:
    """Photos of trees on the GPU, four a tree; the folder may still be growing."""

    def __init__(self, folder, most, side):
        self.folder, self.most, self.side = folder, most, side
        self.picture = torch.zeros(most, 4, 3, side, side, dtype=torch.uint8, device=DEVICE)
        self.near = torch.zeros(most, 4, side // 2, side // 2, device=DEVICE)
        self.camera = torch.zeros(most, 4, 16, device=DEVICE)
        self.names, self.count, self.known = [], 0, set()
        self.next_look = 0.0

    def load(self, name):
        for k in range(4):
            stem = os.path.join(self.folder, f"{name}-{k}")
            picture = numpy.array(Image.open(stem + ".jpg"))
            camera = numpy.loadtxt(stem + ".txt", dtype=numpy.float32)
            h, w = picture.shape[:2]
            near = numpy.fromfile(stem + ".near", dtype=numpy.float32).reshape((h + 1) // 2, (w + 1) // 2)
            yield k, torch.from_numpy(picture).permute(2, 0, 1), torch.from_numpy(near), torch.from_numpy(camera)

    def grow(self):
        if time.time() < self.next_look:
            return
        # Trees are drawn two by two; the second's last picture comes last.
        done = {n[:5] for n in os.listdir(self.folder) if n.endswith("-3.jpg") and int(n[:5]) % 2 == 1}
        done = {n for n in done if time.time() - os.path.getmtime(os.path.join(self.folder, n + "-3.jpg")) > 2}
        fresh = sorted(done - self.known)[: (self.most - self.count) // 2]
        self.known |= set(fresh)
        with ThreadPoolExecutor(8) as pool:
            pairs = [f"{int(n) - t:05d}" for n in fresh for t in (1, 0)]
            for views in pool.map(lambda n: list(self.load(n)), pairs):
                for k, picture, near, camera in views:
                    h, w = picture.shape[1:]
                    self.picture[self.count, k, :, :h, :w] = picture.to(DEVICE)
                    self.near[self.count, k, : near.shape[0], : near.shape[1]] = near.to(DEVICE)
                    self.camera[self.count, k] = camera.to(DEVICE)
                self.count += 1
        self.next_look = time.time() + 5


def at(grid, index, points):
    """Nearest values of B maps (near, half size) at n x 2 px; 0 outside."""
    x = (points[..., 0] / 2).floor().long()
    y = (points[..., 1] / 2).floor().long()
    inside = (x >= 0) & (y >= 0) & (x < grid.shape[-1]) & (y < grid.shape[-2])
    flat = grid.flatten(0, 1).flatten(1)[index]
    return flat.gather(1, (y.clamp(0, grid.shape[-2] - 1) * grid.shape[-1] + x.clamp(0, grid.shape[-1] - 1))) * inside


def world(camera, points, near):
    eye, right, up, forward = (camera[:, None, 3 * i: 3 * i + 3] for i in range(4))
    scale, width, height = (camera[:, 12 + i, None, None] for i in range(3))
    u = (points[..., :1] - 0.5 * width) / scale
    v = (0.5 * height - points[..., 1:]) / scale
    return eye + (forward + right * u + up * v) / near.clamp(min=1e-6)[..., None]


def projected(camera, places):
    eye, right, up, forward = (camera[:, None, 3 * i: 3 * i + 3] for i in range(4))
    scale, width, height = (camera[:, 12 + i, None] for i in range(3))
    d = places - eye
    depth = (d * forward).sum(2).clamp(min=1.0)
    return torch.stack([0.5 * width + scale * (d * right).sum(2) / depth,
                        0.5 * height - scale * (d * up).sum(2) / depth], 2), 1 / depth


def uniform(n, low, high):
    return torch.empty(n, device=DEVICE).uniform_(low, high)


def small_turn(n, degrees, zoom, skew):
    """n affinities about the origin, n x 2 x 2."""
    angle = uniform(n, -degrees, degrees) * math.pi / 180
    size = torch.exp(uniform(n, -zoom, zoom))
    stretch = torch.eye(2, device=DEVICE) + skew * (2 * torch.rand(n, 2, 2, device=DEVICE) - 1)
    c, s = torch.cos(angle) * size, torch.sin(angle) * size
    return torch.stack([torch.stack([c, -s], 1), torch.stack([s, c], 1)], 1) @ stretch


def window_of(views, index, linear, shift, side, first):
    """side x side px: those at px `p` (from `first` on) are the photo's at linear p + shift."""
    line = torch.arange(side, device=DEVICE) + first + 0.5
    y, x = torch.meshgrid(line, line, indexing="ij")
    points = torch.stack([x, y], 2).view(1, -1, 2) @ linear.transpose(1, 2) + shift[:, None]
    camera = views.camera.flatten(0, 1)[index]
    # Beyond the frame its rim goes on, as in the program.
    points = torch.minimum(points.clamp(min=0.5), camera[:, None, 13:15] - 0.5)
    grid = (points / views.side * 2 - 1).view(-1, side, side, 2)
    picture = views.picture.flatten(0, 1)[index].float()
    return F.grid_sample(picture, grid, padding_mode="border", align_corners=False) / 255


@torch.no_grad()
def batch(views, size):
    """Windows of both photos, and of PICKED cells: their places and where they truly lie (px of the second
    window); kind 0 there, 1 not there, 2 not asked."""
    n = size
    tree = torch.randint(views.count, (n,), device=DEVICE)
    draw = torch.rand(n, device=DEVICE)
    is_twin = draw < 0.14
    is_other = (draw >= 0.14) & (draw < 0.2)
    tree_b = torch.where(is_twin, tree ^ 1, torch.where(is_other, torch.randint(views.count, (n,), device=DEVICE), tree))
    k_a = torch.randint(4, (n,), device=DEVICE)
    k_b = (k_a + 1 + torch.randint(3, (n,), device=DEVICE)) % 4
    a, b = tree * 4 + k_a, tree_b * 4 + k_b
    camera_a, camera_b = views.camera.flatten(0, 1)[a], views.camera.flatten(0, 1)[b]
    soil = camera_a[:, 15, None]

    # Around something of the tree.
    tries = torch.rand(n, 96, 2, device=DEVICE) * camera_a[:, None, 13:15]
    near = at(views.near, a, tries)
    good = (near > 0) & (world(camera_a, tries, near)[..., 1] > soil + 15)
    centre = tries[torch.arange(n, device=DEVICE), good.float().argmax(1)]
    zoom = torch.exp(uniform(n, math.log(0.5), math.log(1.5)))
    linear_a = small_turn(n, 12, 0.0, 0.05) * zoom[:, None, None]
    shift_a = centre - (linear_a @ torch.full((n, 2, 1), SIDE / 2, device=DEVICE))[..., 0]

    cells = SIDE // CELL
    line = (torch.arange(cells, device=DEVICE) + 0.5) * CELL
    y, x = torch.meshgrid(line, line, indexing="ij")
    own = torch.stack([x, y], 2).view(1, -1, 2).expand(n, -1, 2)
    place_a = own @ linear_a.transpose(1, 2) + shift_a[:, None]
    near_a = at(views.near, a, place_a)
    place = world(camera_a, place_a, near_a)
    is_tree = (near_a > 0) & (place[..., 1] > soil + 5)
    place_b, near_there = projected(camera_b, place)
    near_b = at(views.near, b, place_b)
    depth_off = (1 / near_b.clamp(min=1e-6) - 1 / near_there).abs()
    is_seen = (near_a > 0) & (near_b > 0) & (depth_off < 6.0)

    # The second photo is laid on the first by what an affinity fits of the tree around, and then shaken.
    weight = is_tree.float() * torch.exp(-((own - SIDE / 2) ** 2).sum(2) / (2 * (0.3 * SIDE) ** 2)) + 1e-6
    design = torch.cat([own - SIDE / 2, torch.ones_like(own[..., :1])], 2)
    normal = design.transpose(1, 2) @ (design * weight[..., None])
    normal = normal + torch.diag(torch.tensor([1.0, 1.0, 1e-3], device=DEVICE))
    prior = torch.cat([linear_a.transpose(1, 2), torch.zeros(n, 1, 2, device=DEVICE)], 1)
    right = design.transpose(1, 2) @ (place_b * weight[..., None]) + torch.diag(
        torch.tensor([1.0, 1.0, 0.0], device=DEVICE)) @ prior
    fitted = torch.linalg.solve(normal, right)                 # n x 3 x 2
    turn = small_turn(n, 7, 0.14, 0.08)
    linear_b = fitted[:, :2].transpose(1, 2) @ turn
    angle, far = uniform(n, 0, 2 * math.pi), uniform(n, 0, 1) ** 0.7 * 12.5 * CELL
    aside = torch.stack([torch.cos(angle), torch.sin(angle)], 1) * far[:, None]
    shift_b = fitted[:, 2] - (linear_b @ (aside + SIDE / 2)[..., None])[..., 0]

    true = (place_b - shift_b[:, None]) @ torch.linalg.inv(linear_b).transpose(1, 2)
    away = (true - own).abs().amax(2)
    kind = torch.where(is_seen & (away <= (REACH - 0.5) * CELL), 0, 1)
    kind = torch.where((is_seen & (away > (REACH - 0.5) * CELL)), 2, kind)
    # Not quite hidden, or at the rim of something: nobody could say.
    kind = torch.where((near_a > 0) & (near_b > 0) & (depth_off >= 6.0) & (depth_off < 25.0), 2, kind)
    different = tree != tree_b
    kind = torch.where(different[:, None], torch.where(is_tree | is_other[:, None], 1, 2), kind)

    chance = torch.where(is_tree, 1.0, 0.12) + 1e-6
    picked = torch.multinomial(chance, PICKED)
    pick = lambda t: t.gather(1, picked if t.dim() == 2 else picked[..., None].expand(-1, -1, t.shape[2]))
    first = window_of(views, a, linear_a, shift_a, SIDE, 0)
    second = window_of(views, b, linear_b, shift_b, SIDE + 2 * AROUND, -AROUND)
    return relit(first) - 0.5, relit(second) - 0.5, picked, pick(true), pick(kind)


def answers(net, first, second, picked):
    """Log probabilities of every cell of the second window, and last of "not there"."""
    n = len(first)
    mine = net(first).float().flatten(2)
    theirs = net(second).float()[:, :LENGTH]
    mine = mine.gather(2, picked[:, None].expand(-1, LENGTH + 1, -1))
    like = mine[:, :LENGTH].transpose(1, 2) @ theirs.flatten(2) / math.sqrt(LENGTH)
    cells, around = SIDE // CELL, AROUND // CELL
    wide = cells + 2 * around
    line = torch.arange(wide, device=first.device) - around
    near = lambda own: (line[None, None] - own[..., None]).abs() <= REACH
    inside = near(picked // cells)[..., :, None] & near(picked % cells)[..., None, :]
    like = like.masked_fill(~inside.view(n, PICKED, -1), -1e4)
    return F.log_softmax(torch.cat([like, mine[:, LENGTH][..., None]], 2), 2), wide, around


def loss_of(net, data):
    first, second, picked, true, kind = data
    log, wide, around = answers(net, first, second, picked)
    spot = true / CELL - 0.5 + around
    low = spot.floor()
    part = spot - low
    there = 0.0
    for dy in (0, 1):
        for dx in (0, 1):
            x = (low[..., 0] + dx).long().clamp(0, wide - 1)
            y = (low[..., 1] + dy).long().clamp(0, wide - 1)
            share = (part[..., 0] if dx else 1 - part[..., 0]) * (part[..., 1] if dy else 1 - part[..., 1])
            there = there - share * log.gather(2, (y * wide + x)[..., None])[..., 0].clamp(min=-30)
    missing = -log[..., -1].clamp(min=-30)
    found, gone = (kind == 0).float(), (kind == 1).float()
    loss = (found * there + 0.7 * gone * missing).sum() / (found.sum() + 0.7 * gone.sum()).clamp(min=1)
    return loss, told(log, found, gone, spot, wide) if torch.rand(()) < 0.02 else None


@torch.no_grad()
def told(log, found, gone, spot, wide):
    """How often cells are found, and how sure the answers are, for the log of the run."""
    best = log[..., :-1].argmax(2)
    off = (torch.stack([best % wide, best // wide], 2) - spot).abs().amax(2)
    missing = log[..., -1].exp()
    means = {"within 1 cell": ((off <= 1.5).float() * found).sum() / found.sum(),
             "missed": (missing * found).sum() / found.sum(),
             "gone": (missing * gone).sum() / gone.sum()}
    return {name: float(mean) for name, mean in means.items()}


def train(net, views, options):
    descent = Descent(net, options.rate, warm=300)
    begin, written = time.time(), 0.0
    while (done := (time.time() - begin) / (60 * options.minutes)) < 1:
        views.grow()
        data = batch(views, options.batch)
        with torch.autocast(DEVICE, torch.bfloat16):
            loss, seen = loss_of(net, data)
        if not math.isfinite(float(loss.detach())):
            raise SystemExit(f"the loss is no number at step {descent.steps}")
        descent.step(loss, done)
        if seen:
            print(f"{time.time() - begin:.0f} s step {descent.steps} trees {views.count} loss {float(loss.detach()):.3f}",
                  {k: round(v, 3) for k, v in seen.items()}, flush=True)
        if time.time() - begin > written + 60 * options.look:
            written = time.time() - begin
            write(descent.kept.net, options.out, 256, ["cells"], dynamic_axes=ANY_SIZE)
    return descent.kept.net


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--views", required=True)
    parser.add_argument("--minutes", type=float, default=15)
    parser.add_argument("--look", type=float, default=3, help="minutes between snapshots")
    parser.add_argument("--batch", type=int, default=16)
    parser.add_argument("--rate", type=float, default=2e-3)
    parser.add_argument("--most", type=int, default=2000, help="trees kept on the GPU")
    parser.add_argument("--side", type=int, default=800, help="longer side of the pictures, px")
    parser.add_argument("--least", type=int, default=40, help="trees to wait for")
    parser.add_argument("--start", help="the .pt file of an earlier run")
    parser.add_argument("--out", required=True)
    options = parser.parse_args()
    torch.manual_seed(SEED)
    torch.backends.cudnn.benchmark = True
    views = Views(options.views, options.most, options.side)
    while views.count < options.least:
        views.grow()
        time.sleep(1)
    net = LikenessNet()
    if options.start:
        net.load_state_dict(torch.load(options.start))
    best = train(net.to(DEVICE).train(), views, options)
    write(best, options.out, 256, ["cells"], dynamic_axes=ANY_SIZE)
    print("parameters", sum(p.numel() for p in best.parameters()), "trees", views.count, flush=True)


if __name__ == "__main__":
    main()
