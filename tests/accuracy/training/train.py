# SPDX-License-Identifier: GPL-3.0-or-later
"""Trains the tissue network (not foliage / sound foliage / spotted foliage) and writes it as ONNX.

Needs PyTorch, and a GPU to be of use. Pictures are those that edamori_scene_set draws (tuning set;
--scenes: a folder a kind, which may still be growing), close-ups of leaves with lesion masks
(--closeups), and photographs without any foliage (--backdrops).

  train.py --scenes DIR… [--closeups DIR] [--backdrops DIR] [--check DIR…] --minutes M --out FILE.onnx

Windows are drawn by processes of their own (--producers) into a store that the training picks from,
turned, mirrored and relit anew each time.

Method: U-Net (Ronneberger, Fischer & Brox 2015, MICCAI 9351, 234-241) with additive skips, on
half-size features; cross-entropy against area shares, so that the mean of a probability estimates
an area. Looks are randomised (Tobin et al. 2017, IROS, 23-30).
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
import torch.multiprocessing as multiprocessing
import torch.nn.functional as F
from PIL import Image
from torch import nn

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), ".."))
from descent import Descent
from exported import ANY_SIZE, write
from relit import relit

WIDTHS = (16, 32, 48, 64, 96, 96)
SEED = 20261126
STORE = 2048           # windows kept ready
MOST = 2400            # scenes of a kind in memory; the oldest go
LATE = 0.65            # of the time: from then on lesions are pasted half as often
DEVICE = "cuda" if torch.cuda.is_available() else "cpu"


def block(inputs, outputs, stride=1, kernel=3, normed=True):
    norm = [nn.BatchNorm2d(outputs)] if normed else []
    return nn.Sequential(nn.Conv2d(inputs, outputs, kernel, stride, 1, bias=not normed), *norm, nn.ReLU())


class TissueNet(nn.Module):
    """3 x H x W in -0.5…0.5 (H, W multiples of 64) to 12 x H/2 x W/2: class logits of 2 x 2 pixels
    (channel = class * 4 + 2 * row + column), and the 16 features they were made from.
    Not normed: as it is once exported, with the normalisation in the weights."""

    def __init__(self, normed=True):
        super().__init__()
        self.first = block(3, WIDTHS[0], 2, 4, normed)
        self.down = nn.ModuleList()
        for i, width in enumerate(WIDTHS):
            before = WIDTHS[max(0, i - 1)]
            self.down.append(nn.Sequential(
                block(before, width, normed=normed), block(width, width, normed=normed)))
        self.reduce = nn.ModuleList()
        self.up = nn.ModuleList()
        for i in range(len(WIDTHS) - 1):
            self.reduce.append(nn.Conv2d(WIDTHS[i + 1], WIDTHS[i], 1))
            self.up.append(block(WIDTHS[i], WIDTHS[i], normed=normed))
        self.last = nn.Conv2d(WIDTHS[0], 12, 1)

    def forward(self, x):
        x = self.first(x)
        skips = []
        for i, down in enumerate(self.down):
            if i > 0:
                x = F.max_pool2d(x, 2)
            x = down(x)
            skips.append(x)
        for i in range(len(WIDTHS) - 2, -1, -1):
            x = F.interpolate(self.reduce[i](x), scale_factor=2.0, mode="nearest")
            x = self.up[i](x + skips[i])
        return self.last(x), x


@torch.no_grad()
def exported(path):
    """The network that an ONNX file of this program holds, to be trained on."""
    import onnx
    graph = onnx.load(path).graph
    values = {t.name: torch.from_numpy(onnx.numpy_helper.to_array(t).copy()) for t in graph.initializer}
    layers = [node for node in graph.node if node.op_type == "Conv"]
    net = TissueNet(normed=False)
    order = []
    hooks = [m.register_forward_hook(lambda module, *_: order.append(module))
             for m in net.modules() if isinstance(m, nn.Conv2d)]
    net(torch.zeros(1, 3, 64, 64))
    for hook in hooks:
        hook.remove()
    assert len(order) == len(layers)
    for module, layer in zip(order, layers):
        module.weight.copy_(values[layer.input[1]])
        module.bias.copy_(values[layer.input[2]])
    return net


@torch.no_grad()
def normed(folded, x):
    """The same network with normalisation, which trains better: its scales and shifts are those that
    leave the answers on the pictures `x` as they are."""
    net = TissueNet()
    def blocks(of):
        return [m for m in of.modules() if isinstance(m, nn.Sequential) and isinstance(m[0], nn.Conv2d)]
    def neutral(bias):
        def hook(norm, inputs):
            variance, mean = torch.var_mean(inputs[0], (0, 2, 3), unbiased=False)
            norm.running_mean.copy_(mean)
            norm.running_var.copy_(variance)
            norm.weight.copy_(torch.sqrt(variance + norm.eps))
            norm.bias.copy_(mean + bias)
        return hook
    hooks = []
    for ours, theirs in zip(blocks(net), blocks(folded)):
        ours[0].weight.copy_(theirs[0].weight)
        hooks.append(ours[1].register_forward_pre_hook(neutral(theirs[0].bias.to(DEVICE))))
    for ours, theirs in [(net.last, folded.last), *zip(net.reduce, folded.reduce)]:
        ours.load_state_dict(theirs.state_dict())
    net.to(DEVICE)(x)
    for hook in hooks:
        hook.remove()
    return net


def shuffled(logits):
    n, _, h, w = logits.shape
    return logits.view(n, 3, 2, 2, h, w).permute(0, 1, 4, 2, 5, 3).reshape(n, 3, 2 * h, 2 * w)


def picture(path):
    return torch.from_numpy(numpy.array(Image.open(path).convert("RGB"))).permute(2, 0, 1).contiguous()


def load_scene(path):
    labels = numpy.array(Image.open(path[:-4] + ".png"))
    classes = torch.from_numpy((labels > 64).astype(numpy.uint8) + (labels > 192).astype(numpy.uint8))
    return picture(path), classes


def load_closeup(path):
    mask = numpy.array(Image.open(os.path.splitext(path)[0] + "_lesion.png").convert("L"))
    image = picture(path)
    if mask.shape != tuple(image.shape[1:]):
        mask = numpy.array(Image.fromarray(mask).resize((image.shape[2], image.shape[1]), Image.NEAREST))
    # 3: leaf or whatever lies behind it, but no lesion.
    return image, torch.from_numpy(numpy.where(mask > 127, 2, 3).astype(numpy.uint8))


def load_backdrop(path):
    image = picture(path)
    return image, torch.zeros(image.shape[1:], dtype=torch.uint8)


def pyramid(item):
    """Levels at 1, 1/2, 1/4: picture and the shares of the 4 classes, as uint8 on the GPU."""
    image, classes = item
    image = image.to(DEVICE).float()
    shares = F.one_hot(classes.to(DEVICE).long(), 4).permute(2, 0, 1).float() * 255
    levels = []
    both = torch.cat([image, shares])[None]
    for _ in range(3):
        levels.append(both[0].round().byte())
        both = F.avg_pool2d(both, 2)
    return levels


def load_all(paths, loader):
    with ThreadPoolExecutor(4) as pool:
        return [pyramid(item) for item in pool.map(loader, paths)]


class Kind:
    """This producer's share of a folder of scenes, which may still be growing."""

    def __init__(self, folder, number, producers):
        self.folder, self.number, self.producers = folder, number, producers
        self.known, self.coming, self.next_look = set(), [], 0.0
        self.scenes = []
        while not self.scenes:
            self.look()
            self.scenes = load_all(self.coming[:MOST // producers], load_scene)
            self.coming = self.coming[MOST // producers:]
            time.sleep(0 if self.scenes else 1)

    def look(self):
        # The labels are written after the picture; those just begun are left for the next look.
        names = {n for n in os.listdir(self.folder) if n.endswith(".png") and int(n[:5]) % self.producers == self.number}
        new = [os.path.join(self.folder, n) for n in sorted(names - self.known)]
        new = [path for path in new if time.time() - os.path.getmtime(path) > 2]
        self.known |= {os.path.basename(path) for path in new}
        self.coming += [path[:-4] + ".jpg" for path in new]
        self.next_look = time.time() + 5

    def grow(self):
        """One scene more, if there is one."""
        if not self.coming and time.time() > self.next_look:
            self.look()
        if self.coming:
            self.scenes.append(pyramid(load_scene(self.coming.pop(0))))
            self.scenes = self.scenes[-(MOST // self.producers):]


def uniform(low, high):
    return low + (high - low) * float(torch.rand(()))


def crop(levels, side, scale):
    """A random turned, scaled, mirrored window; `scale` = picture pixels per window pixel."""
    level = min(2, max(0, int(math.floor(math.log2(max(scale, 1.0))))))
    source = levels[level]
    step = scale / 2**level
    h, w = source.shape[1:]
    angle = uniform(-math.pi, math.pi) if torch.rand(()) < 0.3 else uniform(-0.4, 0.4)
    c, s = math.cos(angle), math.sin(angle)
    mirror = -1.0 if torch.rand(()) < 0.5 else 1.0
    half = side * step / 2
    cx = uniform(min(half, w / 2), max(w - half, w / 2))
    cy = uniform(min(half, h / 2), max(h - half, h / 2))
    theta = torch.tensor([[c * mirror * side * step / w, -s * side * step / w, 2 * cx / w - 1],
                          [s * mirror * side * step / h, c * side * step / h, 2 * cy / h - 1]])
    grid = F.affine_grid(theta[None].to(DEVICE), (1, 7, side, side), align_corners=False)
    return F.grid_sample(source[None].float(), grid, padding_mode="reflection", align_corners=False)[0] / 255


def hsv(hue_deg, saturation, value):
    channel = [(5 + hue_deg / 60) % 6, (3 + hue_deg / 60) % 6, (1 + hue_deg / 60) % 6]
    rgb = [value - value * saturation * max(0.0, min(k, 4 - k, 1.0)) for k in channel]
    return torch.tensor(rgb, device=DEVICE).view(3, 1, 1)


def leaf_colour():
    draw = float(torch.rand(()))
    if draw < 0.08:  # glaucous
        return hsv(uniform(70, 200), uniform(0.06, 0.3), uniform(0.3, 0.85))
    if draw < 0.16:  # blue-green, as waxy leaves are under a blue sky
        return hsv(uniform(140, 186), uniform(0.2, 0.55), uniform(0.2, 0.75))
    if draw < 0.62:
        return hsv(uniform(68, 160), uniform(0.25, 0.85), uniform(0.2, 0.85))
    if draw < 0.85:
        return hsv(uniform(335, 372) % 360, uniform(0.35, 0.85), uniform(0.18, 0.65))
    return hsv(uniform(38, 66), uniform(0.5, 0.9), uniform(0.5, 0.95))


def plain_colour():
    draw = float(torch.rand(()))
    if draw < 0.55:
        return hsv(uniform(0, 360), uniform(0, 0.07), uniform(0.02, 1.0))
    if draw < 0.75:
        return hsv(uniform(18, 42), uniform(0.2, 0.6), uniform(0.25, 0.8))
    return hsv(uniform(190, 285), uniform(0.15, 0.7), uniform(0.1, 0.8))


def dead_colour():
    """Of dead tissue that may be large: none that living leaves have, too."""
    draw = float(torch.rand(()))
    if draw < 0.5:
        return hsv(uniform(18, 40), uniform(0.35, 0.75), uniform(0.15, 0.6))
    if draw < 0.7:
        return hsv(uniform(0, 60), uniform(0.0, 0.25), uniform(0.05, 0.2))
    if draw < 0.8:
        return hsv(uniform(28, 42), uniform(0.25, 0.5), uniform(0.6, 0.85))
    if draw < 0.92:
        return hsv(uniform(5, 36), uniform(0.15, 0.5), uniform(0.35, 0.8))
    return hsv(uniform(280, 335), uniform(0.2, 0.5), uniform(0.2, 0.45))


def spot_colour():
    if torch.rand(()) < 0.1:
        return hsv(uniform(45, 58), uniform(0.5, 0.8), uniform(0.65, 0.85))
    return dead_colour()


def waves(side, amplitude, cells):
    field = torch.randn(1, 1, cells, cells, device=DEVICE) * amplitude
    return 1 + F.interpolate(field, (side, side), mode="bicubic", align_corners=False)[0]


def ellipse(side, cx, cy, a, b):
    """Inside share of each pixel, 0…1, with a lobed rim."""
    line = torch.arange(side, device=DEVICE).float() + 0.5
    y, x = torch.meshgrid(line, line, indexing="ij")
    turn = uniform(0, math.pi)
    u = ((x - cx) * math.cos(turn) + (y - cy) * math.sin(turn)) / a
    v = (-(x - cx) * math.sin(turn) + (y - cy) * math.cos(turn)) / b
    rim = 1 + uniform(0, 0.12) * torch.sin(torch.atan2(v, u) * int(uniform(2, 9)) + uniform(0, 6))
    return ((rim - torch.sqrt(u * u + v * v)) * min(a, b) + 0.5).clamp(0, 1)[None]


def plain_leaf(backdrops, side):
    """Smooth blades on smooth ground: what drawings, cloudy days and soft focus look like."""
    if backdrops and torch.rand(()) < 0.3:
        image = crop(backdrops[int(torch.randint(len(backdrops), ()))], side, uniform(0.4, 1.8))[:3]
    else:
        image = plain_colour() * waves(side, uniform(0, 0.1), 4)
    foliage = torch.zeros(1, side, side, device=DEVICE)
    spotted = torch.zeros(1, side, side, device=DEVICE)
    for _ in range(int(uniform(0, 3))):
        thing = ellipse(side, uniform(0, side), uniform(0, side), uniform(20, 150), uniform(10, 100))
        image = image * (1 - thing) + plain_colour() * thing
    for _ in range(1 if torch.rand(()) < 0.5 else int(uniform(1, 9))):
        a = math.exp(uniform(math.log(20), math.log(0.6 * side)))
        b = a * uniform(0.25, 1.0)
        cx, cy = uniform(0, side), uniform(0, side)
        blade = ellipse(side, cx, cy, a, b)
        colour = leaf_colour()
        image = image * (1 - blade) + colour * waves(side, uniform(0, 0.12), int(uniform(3, 24))) * blade
        foliage = foliage * (1 - blade) + blade
        spotted = spotted * (1 - blade)
        ink = spot_colour()
        if torch.rand(()) < 0.4 or float((ink - colour).abs().max()) < 0.14:
            continue
        size = uniform(0.02, 0.16) * a
        for _ in range(int(uniform(1, 14))):
            r, t = b * math.sqrt(uniform(0, 1)) * 0.8, uniform(0, 6.28)
            spot = ellipse(side, cx + r * math.cos(t), cy + r * math.sin(t),
                           max(2.0, size * uniform(0.6, 1.5)), max(2.0, size * uniform(0.6, 1.5))) * blade
            image = image * (1 - spot) + ink * spot
            spotted = torch.maximum(spotted, spot)
    if torch.rand(()) < 0.4:
        shade = ellipse(side, uniform(0, side), uniform(0, side), uniform(30, 300), uniform(20, 200))
        image = image * (1 - uniform(0.15, 0.5) * shade)
    shares = torch.cat([1 - foliage, foliage - spotted, spotted, torch.zeros_like(foliage)])
    return torch.cat([image.clamp(0, 1), shares])


def spots_anywhere(side):
    """Inside share of a random group of spots of one size class: side x side, 0…1."""
    n = int(uniform(3, 45))
    size = math.exp(uniform(math.log(2.0), math.log(36.0)))
    n = min(n, int(6000 / size**2) + 3)
    def r(low, high):
        return torch.empty(n, 1, 1, device=DEVICE).uniform_(low, high)
    line = torch.arange(side, device=DEVICE).float() + 0.5
    spread = uniform(0.15, 1.0) * side
    x = line.view(1, 1, -1) - uniform(0, side) - r(-0.7, 0.7) * spread
    y = line.view(1, -1, 1) - uniform(0, side) - r(-0.7, 0.7) * spread
    turn = r(0, math.pi)
    a, b = size * r(0.6, 1.5), size * r(0.4, 1.0)
    u = (x * turn.cos() + y * turn.sin()) / a
    v = (y * turn.cos() - x * turn.sin()) / b
    rim = 1 + r(0, 0.35) * torch.sin(torch.atan2(v, u) * r(2, 6).round() + r(0, 6))
    return ((rim - torch.sqrt(u * u + v * v)) * torch.minimum(a, b) / uniform(0.7, 3) + 0.5).clamp(0, 1).amax(0, keepdim=True)


def with_spots(window):
    """Drawn lesions on whatever sound foliage the window shows; close-ups included."""
    side = window.shape[1]
    for _ in range(1 if torch.rand(()) < 0.7 else 2):
        ink = spot_colour()
        host = window[4:5] + window[6:7]
        if float(host.mean()) < 0.03:
            return window
        colour = (window[:3] * host).mean((1, 2), keepdim=True) / host.mean()
        if float((ink - colour).abs().max()) < 0.13:
            continue
        inside = spots_anywhere(side) * (host > 0.5)
        ink = ink * waves(side, uniform(0.02, 0.15), int(uniform(8, 120)))
        if torch.rand(()) < 0.4:  # dark rim, paler middle
            rim = (1 - (2 * inside - 1).abs()).clamp(0, 1)
            ink = ink * (1 - uniform(0.2, 0.6) * rim)
        image = window[:3] * (1 - inside) + ink * inside * (0.4 + 0.6 * (window[:3].mean(0, keepdim=True) / colour.mean()).clamp(0.3, 1.6))
        hit = (inside > 0.5).float()
        shares = torch.cat([window[3:4], window[4:5] * (1 - hit), window[5:6] + host * hit, window[6:7] * (1 - hit)])
        window = torch.cat([image.clamp(0, 1), shares])
    return window


def field(side, finest):
    """Smooth noise, coarse to fine: 1 x side x side, about -1…1."""
    total = torch.zeros(1, 1, side, side, device=DEVICE)
    cells, weight = int(uniform(2, 7)), 1.0
    finest = max(finest, 2 * cells)  # one layer at least: nothing drawn has no spread
    while cells < finest:
        total += weight * F.interpolate(torch.randn(1, 1, cells, cells, device=DEVICE), (side, side),
                                        mode="bicubic", align_corners=False)
        cells, weight = cells * 2, weight * uniform(0.35, 0.65)
    return (total / total.std())[0]


def whole_blades(host, share):
    """1 on about that share of the blades, or groups of blades that touch; else 0."""
    small = (F.avg_pool2d(host[None], 4)[0, 0] > 0.5).byte().cpu().numpy()
    count, which = cv2.connectedComponents(small, connectivity=4)
    picked = torch.rand(count) < share
    picked[0] = False
    chosen = picked.float()[torch.from_numpy(which).long()].to(DEVICE)
    # Rims were cut off by the coarse grid.
    chosen = F.max_pool2d(chosen[None, None], 3, 1, 1)
    return F.interpolate(chosen, host.shape[1:], mode="nearest")[0] * host


def with_areas(window):
    """Dead areas of any shape on sound foliage: patches, margins, between what stays green, whole blades."""
    side = window.shape[1]
    host = window[4:5] + window[6:7]
    ink = dead_colour()
    mean = float(host.mean())
    if mean < 0.03:
        return window
    colour = (window[:3] * host).mean((1, 2), keepdim=True) / mean
    if float((ink - colour).abs().max()) < 0.13:
        return window
    depth = field(side, uniform(8, 130))
    draw = float(torch.rand(()))
    if draw < 0.35:  # from the margins inwards
        reach = 2 * int(uniform(3, 25)) + 1
        inner = F.avg_pool2d(F.pad((host > 0.5).float()[None], (reach // 2,) * 4, "replicate"), reach, 1)[0]
        depth = 0.6 * depth + 5 * (0.75 - inner)
    elif draw < 0.65:  # what is paler or darker of the blade itself dies first
        grey = window[:3].mean(0, keepdim=True)
        depth = depth + uniform(-12, 12) * (grey - F.avg_pool2d(grey[None], 31, 1, 15)[0])
    inside = ((depth - uniform(0.3, 2.2)) / uniform(0.03, 0.4) + 0.5).clamp(0, 1) * (host > 0.5)
    if torch.rand(()) < 0.2:
        inside = torch.maximum(inside * float(torch.rand(()) < 0.5), whole_blades((host > 0.5).float(), uniform(0.2, 0.8)))
    if torch.rand(()) < 0.4:  # paler tissue before it
        halo = ((depth - uniform(-0.3, 1.0)) / uniform(0.3, 1.2)).clamp(0, 1) * (host > 0.5)
        yellow = hsv(uniform(44, 62), uniform(0.35, 0.8), uniform(0.5, 0.9))
        window = torch.cat([window[:3] * (1 - 0.5 * halo) + 0.5 * halo * yellow, window[3:]])
    tone = (0.35 + 0.65 * (window[:3].mean(0, keepdim=True) / colour.mean().clamp(min=0.01)).clamp(0.3, 1.6))
    ink = ink * waves(side, uniform(0.02, 0.2), int(uniform(8, 120))) * tone
    image = window[:3] * (1 - inside) + ink * inside
    hit = (inside > 0.5).float()
    shares = torch.cat([window[3:4], window[4:5] * (1 - hit), window[5:6] + host * hit, window[6:7] * (1 - hit)])
    return torch.cat([image.clamp(0, 1), shares])


def two_coloured(window):
    """Sound leaves that turn from one colour of living leaves to another: flush, autumn, maples."""
    side = window.shape[1]
    sound = window[4:5]
    mean = float(sound.mean())
    if mean < 0.03:
        return window
    grey = window[:3].mean(0, keepdim=True)
    shade = (grey / ((grey * sound).mean() / mean).clamp(min=0.01)).clamp(0.15, 2.5)
    share = ((field(side, uniform(5, 60)) + uniform(-0.8, 0.8)) / uniform(0.3, 1.8) + 0.5).clamp(0, 1) * sound
    if torch.rand(()) < 0.4:  # the rim of a blade turns first
        reach = 2 * int(uniform(3, 25)) + 1
        inner = F.avg_pool2d(F.pad((sound > 0.5).float()[None], (reach // 2,) * 4, "replicate"), reach, 1)[0]
        share = ((0.9 - inner) * uniform(1.5, 5)).clamp(0, 1) * sound
    share = share * uniform(0.4, 1.0)
    return torch.cat([(window[:3] * (1 - share) + leaf_colour() * shade * share).clamp(0, 1), window[3:]])


def reddened(window):
    """Red leaves instead of green ones; spots keep their colour."""
    sound = window[4:5]
    red, green, blue = window[0:1], window[1:2], window[2:3]
    k = uniform(0.8, 1.1)
    other = torch.cat([(k * green + 0.15 * red), (0.3 * red + 0.12 * green), 0.8 * blue])
    return torch.cat([(window[:3] * (1 - sound) + other * sound).clamp(0, 1), window[3:]])


def shaded(window, tissue, colour):
    """The tissue in another colour, with its light and shade, veins and grain."""
    mean = float(tissue.mean())
    if mean < 0.03:
        return window
    grey = window[:3].mean(0, keepdim=True)
    shade = (grey / ((grey * tissue).mean() / mean).clamp(min=0.01)).clamp(0.15, 2.5)
    share = tissue * uniform(0.5, 1.0)
    return torch.cat([(window[:3] * (1 - share) + colour * shade * share).clamp(0, 1), window[3:]])


def mean_colour(window, tissue):
    mean = float(tissue.mean())
    return (window[:3] * tissue).mean((1, 2), keepdim=True) / mean if mean > 0.002 else None


def recoloured(window):
    """Sound tissue, dead tissue or what lies behind them in other colours, where they stay apart."""
    sound, dead = window[4:5], window[5:6]
    for tissue, other, pick, chance in ((sound, dead, leaf_colour, 0.18), (dead, sound, dead_colour, 0.3)):
        if torch.rand(()) >= chance:
            continue
        colour, beside = pick(), mean_colour(window, other)
        if beside is None or float((colour - beside).abs().max()) > 0.15:
            window = shaded(window, tissue, colour)
    if torch.rand(()) < 0.12:
        window = shaded(window, window[3:4], plain_colour())
    return window


def from_scene(levels, backdrops, side, strength):
    window = crop(levels, side, math.exp(uniform(math.log(0.5), math.log(2.0))))
    if backdrops and torch.rand(()) < 0.2:
        behind = crop(backdrops[int(torch.randint(len(backdrops), ()))], side, uniform(0.4, 1.8))
        foliage = window[4:6].sum(0, keepdim=True)
        window = torch.cat([window[:3] * foliage + behind[:3] * (1 - foliage), window[3:]])
    window = reddened(window) if torch.rand(()) < 0.06 else recoloured(window)
    if torch.rand(()) < 0.12:
        window = two_coloured(window)
    draw = float(torch.rand(()))
    if draw < 0.2 * strength:
        return with_spots(window)
    return with_areas(window) if draw < 0.36 * strength else window


def drawn(kinds, closeups, backdrops, side, strength):
    """One window, 7 x side x side: picture and shares of the 4 classes."""
    draw = float(torch.rand(()))
    if closeups and draw < 0.14:
        window = crop(closeups[int(torch.randint(len(closeups), ()))], side, uniform(0.8, 2.4))
        return with_spots(window) if torch.rand(()) < 0.3 * strength else window
    if backdrops and draw < 0.18:
        return crop(backdrops[int(torch.randint(len(backdrops), ()))], side, uniform(0.4, 1.8))
    if draw < 0.26:
        return plain_leaf(backdrops, side)
    # Boards, which differ more from each other, more often than gardens.
    kind = kinds[0 if torch.rand(()) < 0.3 else int(torch.randint(len(kinds), ()))]
    return from_scene(kind.scenes[int(torch.randint(len(kind.scenes), ()))], backdrops, side, strength)


def closeups_of(options):
    # Every fourth close-up is kept for the check.
    paths = sorted(glob.glob(options.closeups + "/*.jpeg")) if options.closeups else []
    return load_all([p for i, p in enumerate(paths) if i % 4 != 0], load_closeup)


@torch.no_grad()
def produce(number, options, store, made, strength, ends):
    """A process: draws windows into every so-many-th place of the store, again and again."""
    torch.set_num_threads(1)
    torch.manual_seed(SEED + 1 + number)
    closeups = closeups_of(options)
    backdrops = load_all(sorted(glob.glob(options.backdrops + "/*.jpg")) if options.backdrops else [], load_backdrop)
    kinds = [Kind(folder, number, options.producers) for folder in options.scenes]
    place, count = number, 0
    while not ends.is_set():
        if count % 8 == 0:
            kinds[count // 8 % len(kinds)].grow()
        window = drawn(kinds, closeups, backdrops, options.side, strength.value)
        store[place] = (window * 255).round().byte().to(store.device)
        place = place + options.producers
        place = place if place < len(store) else number
        count += 1
        made[number] = count
        if count % 20000 == 0:
            print("producer", number, count, "windows of", [len(k.known) for k in kinds], "scenes", flush=True)


def batch(store, size):
    picked = store[torch.randint(len(store), (size,), device=store.device)].to(DEVICE).float() / 255
    picked = torch.rot90(picked, int(torch.randint(4, ())), (2, 3))
    picked = picked.flip(3) if torch.rand(()) < 0.5 else picked
    return relit(picked[:, :3]) - 0.5, picked[:, 3:].contiguous()


def loss_of(logits, shares):
    log = F.log_softmax(logits.float(), 1)
    known = -(shares[:, :3] * log).sum(1)
    not_spot = torch.logaddexp(log[:, 0], log[:, 1])
    return (known - shares[:, 3] * not_spot).mean()


@torch.no_grad()
def check(net, folder, work_side=768, limit=80):
    """Errors of whole pictures, percentage points: spotted share of foliage, cover."""
    spot, cover, bias = [], [], []
    is_closeup = bool(glob.glob(folder + "/*_lesion.png"))
    paths = sorted(p for p in glob.glob(folder + "/*.jp*g"))[:limit * 4]
    paths = paths[::4] if is_closeup else paths[:limit]
    for path in paths:
        image, classes = (load_closeup if is_closeup else load_scene)(path)
        image = image.to(DEVICE).float()[None] / 255 - 0.5
        h, w = image.shape[2:]
        scale = min(1.0, work_side / max(h, w))
        small = F.interpolate(image, size=(round(h * scale), round(w * scale)), mode="area")
        h, w = small.shape[2:]
        padded = F.pad(small, (0, -w % 64, 0, -h % 64), "replicate")
        p = shuffled(net(padded)[0].float()).softmax(1)[0, :, :h, :w].mean((1, 2)).cpu()
        true = torch.bincount(classes.flatten().long(), minlength=4).float() / classes.numel()
        if is_closeup:
            spot.append(100 * float(p[2] - true[2]))
        else:
            cover.append(100 * float(p[1] + p[2] - true[1] - true[2]))
            if true[1] + true[2] > 0.02:
                spot.append(100 * float(p[2] / (p[1] + p[2]) - true[2] / (true[1] + true[2])))
    a = numpy.array(spot)
    line = f"{folder}: n {len(spot)} spot MAE {abs(a).mean():.2f} bias {a.mean():.2f} p90 {numpy.quantile(abs(a), 0.9):.2f}"
    if cover:
        c = numpy.array(cover)
        line += f" cover MAE {abs(c).mean():.2f} bias {c.mean():.2f} p90 {numpy.quantile(abs(c), 0.9):.2f}"
    print(line, flush=True)


def begun(options, store):
    """The network to train on."""
    if options.start and options.start.endswith(".onnx"):
        net = exported(options.start)
        if options.normed:
            with torch.no_grad():
                net = normed(net.to(DEVICE), batch(store, 4 * options.batch)[0])
    else:
        net = TissueNet(normed=not options.folded)
        if options.start:
            net.load_state_dict(torch.load(options.start))
    return net.to(DEVICE).to(memory_format=torch.channels_last)


def train(net, store, strength, options):
    descent = Descent(net, options.rate)
    begin, total, next_look = time.time(), 0.0, options.look
    while (done := (time.time() - begin) / (60 * options.minutes)) < 1:
        strength.value = options.pasted * (1.0 if done < LATE else 0.5)
        x, shares = batch(store, options.batch)
        with torch.autocast(DEVICE, torch.bfloat16):
            logits, _ = net(x.to(memory_format=torch.channels_last))
        loss = loss_of(shuffled(logits), shares)
        descent.step(loss, done)
        step = descent.steps
        if step % 50 == 0:
            total += float(loss.detach())
            if not math.isfinite(total):
                raise SystemExit(f"the loss is no number at step {step}; look at what drawn() draws")
        if step % 1000 == 0:
            print(f"step {step} {time.time() - begin:.0f} s loss {total / 20:.4f}", flush=True)
            total = 0.0
        if (time.time() - begin) / 60 > next_look:
            next_look += options.look
            look_at(descent.kept.net, options)
            write(descent.kept.net, options.out, 512, ["logits", "features"], dynamic_axes=ANY_SIZE)
    return descent.kept.net


def look_at(net, options):
    for folder in options.check:
        check(copy.deepcopy(net).eval(), folder)


def arguments():
    parser = argparse.ArgumentParser()
    parser.add_argument("--scenes", nargs="+", help="boards first")
    parser.add_argument("--closeups")
    parser.add_argument("--backdrops")
    parser.add_argument("--check", nargs="*", default=[])
    parser.add_argument("--minutes", type=float, default=5)
    parser.add_argument("--look", type=float, default=5, help="minutes between checks")
    parser.add_argument("--batch", type=int, default=24)
    parser.add_argument("--side", type=int, default=512)
    parser.add_argument("--rate", type=float, default=2e-3)
    parser.add_argument("--pasted", type=float, default=1.0, help="how often lesions are pasted, against the usual")
    parser.add_argument("--producers", type=int, default=4)
    parser.add_argument("--store", default=DEVICE, help="where the windows are kept: cuda or cpu")
    parser.add_argument("--start", help="an ONNX file, or the .pt file of an earlier run")
    parser.add_argument("--normed", action="store_true", help="give the network of the ONNX file normalisation again")
    parser.add_argument("--folded", action="store_true", help="the .pt file came of a run that began with an ONNX file")
    parser.add_argument("--out", required=True)
    return parser.parse_args()


def main():
    options = arguments()
    torch.manual_seed(SEED)
    torch.backends.cudnn.benchmark = True
    context = multiprocessing.get_context("spawn")
    store = torch.zeros(STORE, 7, options.side, options.side, dtype=torch.uint8, device=options.store)
    store.share_memory_()
    made, ends, strength = context.Array("q", options.producers), context.Event(), context.Value("d", 1.0)
    helpers = [context.Process(target=produce, args=(k, options, store, made, strength, ends), daemon=True)
               for k in range(options.producers)]
    for helper in helpers:
        helper.start()
    while sum(made) < STORE:
        if not all(helper.is_alive() for helper in helpers):
            raise SystemExit("a process that draws windows ended")
        time.sleep(0.5)
    net = begun(options, store)
    if options.start:
        look_at(net, options)
    best = train(net.train(), store, strength, options)
    print(sum(made), "windows drawn", flush=True)
    ends.set()
    look_at(best, options)
    write(best, options.out, 512, ["logits", "features"], dynamic_axes=ANY_SIZE)
    print("parameters", sum(p.numel() for p in best.parameters()), flush=True)


if __name__ == "__main__":
    main()
