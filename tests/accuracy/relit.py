# SPDX-License-Identifier: GPL-3.0-or-later
"""Pictures as other cameras in other light would have them, for the training programs in the folders beside."""
import torch
import torch.nn.functional as F


def relit(x):
    """Other cameras and other light: gains, exposure, contrast, saturation, blur, noise; n x 3 x H x W, 0…1."""
    n = x.shape[0]
    def r(low, high, channels=1):
        return torch.empty(n, channels, 1, 1, device=x.device).uniform_(low, high)
    x = x.clamp(1e-4, 1) ** 2.2
    warmth = r(-0.18, 0.18) * (r(0, 1) < 0.5)
    x = x * torch.exp2(r(-0.9, 0.7)) * torch.exp(r(-0.16, 0.16, 3) + torch.cat([warmth, 0 * warmth, -1.1 * warmth], 1))
    x = x.clamp(1e-5, 1) ** (1 / 2.2)
    grey = x.mean(1, keepdim=True)
    x = grey + (x - grey) * r(0.65, 1.35)
    mean = x.mean((2, 3), keepdim=True)
    x = mean + (x - mean) * r(0.8, 1.25)
    if torch.rand(()) < 0.3:
        sigma = 0.3 + float(torch.rand(()))
        k = torch.exp(-torch.arange(-3, 4, device=x.device).float() ** 2 / (2 * sigma**2))
        k = (k / k.sum()).view(1, 1, 1, 7).repeat(3, 1, 1, 1)
        x = F.conv2d(F.pad(x, (3, 3, 0, 0), "reflect"), k, groups=3)
        x = F.conv2d(F.pad(x, (0, 0, 3, 3), "reflect"), k.transpose(2, 3), groups=3)
    noise = torch.randn_like(x)
    soft = F.avg_pool2d(F.pad(noise, (1, 1, 1, 1), "reflect"), 3, 1) * 2
    x = x + torch.where(r(0, 1) < 0.5, noise, soft) * r(0, 1) ** 2 * 0.05
    return x.clamp(0, 1)
