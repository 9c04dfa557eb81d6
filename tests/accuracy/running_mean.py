# SPDX-License-Identifier: GPL-3.0-or-later
"""The running mean of a network's weights and statistics, for the training programs in the folders beside."""
import copy

import torch


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
