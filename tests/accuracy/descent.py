# SPDX-License-Identifier: GPL-3.0-or-later
"""How the training programs in the folders beside go down their losses."""
import copy
import math

import torch
from torch import nn


class Kept:
    """The mean follows `net`; each time it takes `share` of the new weights."""

    def __init__(self, net, share=0.001):
        self.net, self.share = copy.deepcopy(net), share

    @torch.no_grad()
    def follow(self, net):
        floats = lambda of: [t for t in of.state_dict().values() if t.is_floating_point()]
        ours, theirs = floats(self.net), floats(net)
        torch._foreach_mul_(ours, 1 - self.share)
        torch._foreach_add_(ours, theirs, alpha=self.share)


class Descent:
    """AdamW (Loshchilov & Hutter 2019, ICLR) on the weights of `net`; `kept` follows them. The rate rises to
    `rate` within `warm` steps and falls to 0 along a cosine; no gradient is longer than `longest`."""

    def __init__(self, net, rate, warm=500, longest=1.0):
        self.net, self.rate, self.warm, self.longest = net, rate, warm, longest
        self.kept = Kept(net)
        self.steps = 0
        self._optimiser = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=1e-4)

    def step(self, loss, done):
        """One step down; `done`: share of the training that is over, 0…1."""
        for group in self._optimiser.param_groups:
            group["lr"] = self.rate * min(1, (self.steps + 1) / self.warm) * (0.5 + 0.5 * math.cos(math.pi * done))
        self._optimiser.zero_grad(set_to_none=True)
        loss.backward()
        nn.utils.clip_grad_norm_(self.net.parameters(), self.longest)
        self._optimiser.step()
        self.kept.follow(self.net)
        self.steps += 1
