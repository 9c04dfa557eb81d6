# SPDX-License-Identifier: GPL-3.0-or-later
"""Writing a trained network as ONNX, for the training programs in the folders beside."""
import copy
import inspect
import os

import torch


def write(net, out, side, outputs, **options):
    """`net` for a picture of 3 x side x side, with the named outputs; its weights go beside it as .pt."""
    net = copy.deepcopy(net).eval().cpu().float().to(memory_format=torch.contiguous_format)
    torch.save(net.state_dict(), os.path.splitext(out)[0] + ".pt")
    # As the older exporter writes it, where there are two.
    older = {"dynamo": False} if "dynamo" in inspect.signature(torch.onnx.export).parameters else {}
    torch.onnx.export(net, torch.zeros(1, 3, side, side), out, opset_version=11, input_names=["picture"],
                      output_names=outputs, **options, **older)


# Pictures of any size.
ANY_SIZE = {"picture": {2: "h", 3: "w"}}
