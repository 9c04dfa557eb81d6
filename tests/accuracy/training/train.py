# SPDX-License-Identifier: GPL-3.0-or-later
"""Trains the tissue network (not foliage / sound foliage / spotted foliage) and writes it as ONNX.

Needs PyTorch with a GPU. Pictures are those that edamori_scene_set draws (tuning set), close-ups
of leaves with lesion masks (--closeups), and photographs without any foliage (--backdrops).

  train.py --scenes DIR… [--closeups DIR] [--backdrops DIR] [--check DIR…] --minutes M --out FILE.onnx

Method: U-Net (Ronneberger, Fischer & Brox 2015, MICCAI 9351, 234-241) with additive skips, on
half-size features; cross-entropy against area shares, so that the mean of a probability estimates
an area. Looks are randomised (Tobin et al. 2017, IROS, 23-30).
"""
import argparse
import glob
import math
import os
import time
from concurrent.futures import ThreadPoolExecutor

import numpy
import torch
import torch.nn.functional as F
from PIL import Image
from torch import nn

WIDTHS = (16, 32, 48, 64, 96, 96)


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
    image = image.cuda().float()
    shares = F.one_hot(classes.cuda().long(), 4).permute(2, 0, 1).float() * 255
    levels = []
    both = torch.cat([image, shares])[None]
    for _ in range(3):
        levels.append(both[0].round().byte())
        both = F.avg_pool2d(both, 2)
    return levels


def load_all(paths, loader):
    with ThreadPoolExecutor(16) as pool:
        return [pyramid(item) for item in pool.map(loader, paths)]


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
    grid = F.affine_grid(theta[None].cuda(), (1, 7, side, side), align_corners=False)
    return F.grid_sample(source[None].float(), grid, padding_mode="reflection", align_corners=False)[0] / 255


def relit(x):
    """Other cameras and other light: gains, exposure, contrast, saturation, blur, noise; n x 3 x H x W, 0…1."""
    n = x.shape[0]
    def r(low, high, channels=1):
        return torch.empty(n, channels, 1, 1, device=x.device).uniform_(low, high)
    x = x.clamp(1e-4, 1) ** 2.2
    x = x * torch.exp2(r(-0.9, 0.7)) * torch.exp(r(-0.16, 0.16, 3))
    x = x.clamp(1e-5, 1) ** (1 / 2.2)
    grey = x.mean(1, keepdim=True)
    x = grey + (x - grey) * r(0.65, 1.35)
    mean = x.mean((2, 3), keepdim=True)
    x = mean + (x - mean) * r(0.8, 1.25)
    if torch.rand(()) < 0.3:
        sigma = uniform(0.3, 1.3)
        k = torch.exp(-torch.arange(-3, 4, device=x.device).float() ** 2 / (2 * sigma**2))
        k = (k / k.sum()).view(1, 1, 1, 7).repeat(3, 1, 1, 1)
        x = F.conv2d(F.pad(x, (3, 3, 0, 0), "reflect"), k, groups=3)
        x = F.conv2d(F.pad(x, (0, 0, 3, 3), "reflect"), k.transpose(2, 3), groups=3)
    noise = torch.randn_like(x)
    soft = F.avg_pool2d(F.pad(noise, (1, 1, 1, 1), "reflect"), 3, 1) * 2
    x = x + torch.where(r(0, 1) < 0.5, noise, soft) * r(0, 1) ** 2 * 0.05
    return x.clamp(0, 1)


def hsv(hue_deg, saturation, value):
    channel = [(5 + hue_deg / 60) % 6, (3 + hue_deg / 60) % 6, (1 + hue_deg / 60) % 6]
    rgb = [value - value * saturation * max(0.0, min(k, 4 - k, 1.0)) for k in channel]
    return torch.tensor(rgb, device="cuda").view(3, 1, 1)


def leaf_colour():
    draw = float(torch.rand(()))
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


def spot_colour():
    draw = float(torch.rand(()))
    if draw < 0.45:
        return hsv(uniform(18, 40), uniform(0.35, 0.75), uniform(0.15, 0.6))
    if draw < 0.65:
        return hsv(uniform(0, 60), uniform(0.0, 0.25), uniform(0.05, 0.2))
    if draw < 0.8:
        return hsv(uniform(28, 42), uniform(0.25, 0.5), uniform(0.6, 0.85))
    if draw < 0.9:
        return hsv(uniform(45, 58), uniform(0.5, 0.8), uniform(0.65, 0.85))
    return hsv(uniform(280, 335), uniform(0.2, 0.5), uniform(0.2, 0.45))


def waves(side, amplitude, cells):
    field = torch.randn(1, 1, cells, cells, device="cuda") * amplitude
    return 1 + F.interpolate(field, (side, side), mode="bicubic", align_corners=False)[0]


def ellipse(side, cx, cy, a, b):
    """Inside share of each pixel, 0…1, with a lobed rim."""
    line = torch.arange(side, device="cuda").float() + 0.5
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
    foliage = torch.zeros(1, side, side, device="cuda")
    spotted = torch.zeros(1, side, side, device="cuda")
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
        return torch.empty(n, 1, 1, device="cuda").uniform_(low, high)
    line = torch.arange(side, device="cuda").float() + 0.5
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
    total = torch.zeros(1, 1, side, side, device="cuda")
    cells, weight = int(uniform(2, 7)), 1.0
    finest = max(finest, 2 * cells)  # one layer at least: nothing drawn has no spread
    while cells < finest:
        total += weight * F.interpolate(torch.randn(1, 1, cells, cells, device="cuda"), (side, side),
                                        mode="bicubic", align_corners=False)
        cells, weight = cells * 2, weight * uniform(0.35, 0.65)
    return (total / total.std())[0]


def with_areas(window):
    """Dead areas of any shape on sound foliage: patches, margins, between what stays green."""
    side = window.shape[1]
    host = window[4:5] + window[6:7]
    ink = spot_colour()
    mean = float(host.mean())
    if mean < 0.03:
        return window
    colour = (window[:3] * host).mean((1, 2), keepdim=True) / mean
    if float((ink - colour).abs().max()) < 0.13:
        return window
    depth = field(side, uniform(8, 130))
    if torch.rand(()) < 0.35:  # from the margins inwards
        reach = 2 * int(uniform(3, 25)) + 1
        inner = F.avg_pool2d(F.pad((host > 0.5).float()[None], (reach // 2,) * 4, "replicate"), reach, 1)[0]
        depth = 0.6 * depth + 5 * (0.75 - inner)
    elif torch.rand(()) < 0.4:  # what is paler or darker of the blade itself dies first
        grey = window[:3].mean(0, keepdim=True)
        depth = depth + uniform(-12, 12) * (grey - F.avg_pool2d(grey[None], 31, 1, 15)[0])
    inside = ((depth - uniform(0.3, 2.2)) / uniform(0.03, 0.4) + 0.5).clamp(0, 1) * (host > 0.5)
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


def batch(scenes, closeups, backdrops, size, side):
    windows = []
    for _ in range(size):
        draw = float(torch.rand(()))
        if closeups and draw < 0.14:
            item = closeups[int(torch.randint(len(closeups), ()))]
            window = crop(item, side, uniform(0.8, 2.4))
            windows.append(with_spots(window) if torch.rand(()) < 0.35 else window)
        elif backdrops and draw < 0.18:
            item = backdrops[int(torch.randint(len(backdrops), ()))]
            windows.append(crop(item, side, uniform(0.4, 1.8)))
        elif draw < 0.30:
            windows.append(plain_leaf(backdrops, side))
        else:
            item = scenes[int(torch.randint(len(scenes), ()))]
            window = crop(item, side, math.exp(uniform(math.log(0.5), math.log(2.0))))
            if backdrops and torch.rand(()) < 0.2:
                behind = crop(backdrops[int(torch.randint(len(backdrops), ()))], side, uniform(0.4, 1.8))
                foliage = window[4:6].sum(0, keepdim=True)
                window = torch.cat([window[:3] * foliage + behind[:3] * (1 - foliage), window[3:]])
            if torch.rand(()) < 0.1:
                window = reddened(window)
            if torch.rand(()) < 0.15:
                window = two_coloured(window)
            draw = float(torch.rand(()))
            if draw < 0.3:
                window = with_spots(window)
            elif draw < 0.5:
                window = with_areas(window)
            windows.append(window)
    both = torch.stack(windows)
    return relit(both[:, :3]) - 0.5, both[:, 3:]


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
        image = image.cuda().float()[None] / 255 - 0.5
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


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--scenes", nargs="+")
    parser.add_argument("--closeups")
    parser.add_argument("--backdrops")
    parser.add_argument("--check", nargs="*", default=[])
    parser.add_argument("--minutes", type=float, default=5)
    parser.add_argument("--batch", type=int, default=24)
    parser.add_argument("--side", type=int, default=512)
    parser.add_argument("--rate", type=float, default=3e-3)
    parser.add_argument("--start", help="an ONNX file, or the .pt file of an earlier run")
    parser.add_argument("--folded", action="store_true", help="the .pt file came of a run that began with an ONNX file")
    parser.add_argument("--out")
    options = parser.parse_args()
    torch.manual_seed(20261125)
    torch.backends.cudnn.benchmark = True
    scenes = load_all(sum((sorted(glob.glob(d + "/*.jpg")) for d in options.scenes), []), load_scene)
    # Every fourth close-up is kept for the check.
    closeups = sorted(glob.glob(options.closeups + "/*.jpeg")) if options.closeups else []
    closeups = load_all([p for i, p in enumerate(closeups) if i % 4 != 0], load_closeup)
    backdrops = load_all(sorted(glob.glob(options.backdrops + "/*.jpg")) if options.backdrops else [], load_backdrop)
    print(len(scenes), "scenes", len(closeups), "close-ups", len(backdrops), "backdrops", flush=True)
    if options.start and options.start.endswith(".onnx"):
        net = exported(options.start)
    else:
        net = TissueNet(normed=not options.folded)
        if options.start:
            net.load_state_dict(torch.load(options.start))
    net = net.cuda().to(memory_format=torch.channels_last)
    for folder in options.check if options.start else []:
        check(net.eval(), folder)
    net.train()
    kept = torch.optim.swa_utils.AveragedModel(
        net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.998), use_buffers=True)
    optimiser = torch.optim.AdamW(net.parameters(), lr=options.rate, weight_decay=1e-4)
    begin, step, total = time.time(), 0, 0.0
    while (done := (time.time() - begin) / (60 * options.minutes)) < 1:
        for group in optimiser.param_groups:
            group["lr"] = options.rate * min(1, (step + 1) / 200) * (0.5 + 0.5 * math.cos(math.pi * done))
        x, shares = batch(scenes, closeups, backdrops, options.batch, options.side)
        with torch.autocast("cuda", torch.bfloat16):
            logits, _ = net(x.to(memory_format=torch.channels_last))
        loss = loss_of(shuffled(logits), shares)
        if step % 100 == 0 and not math.isfinite(float(loss.detach())):
            raise SystemExit(f"the loss is no number at step {step}; look at what batch() draws")
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        kept.update_parameters(net)
        step += 1
        total += float(loss.detach()) if step % 20 == 0 else 0.0
        if step % 500 == 0:
            print(f"step {step} {time.time() - begin:.0f} s loss {total / 25:.4f}", flush=True)
            total = 0.0
    best = kept.module.eval()
    for folder in options.check:
        check(best, folder)
    best = best.cpu().float().to(memory_format=torch.contiguous_format)
    torch.save(best.state_dict(), os.path.splitext(options.out)[0] + ".pt")
    torch.onnx.export(best, torch.zeros(1, 3, 512, 512), options.out, opset_version=11, dynamo=False,
                      input_names=["picture"], output_names=["logits", "features"],
                      dynamic_axes={"picture": {2: "h", 3: "w"}})
    print("parameters", sum(p.numel() for p in best.parameters()), flush=True)


main()
