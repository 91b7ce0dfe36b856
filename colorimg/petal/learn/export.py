#!/usr/bin/python3
"""Writes what learn.py found, twice, as hueward carries it, and prints its checksum.

  export.py OUT/fold5.npz OTHER/fold5.npz WEIGHTS [KEPT]

WEIGHTS is ../net/finder.weights, KEPT ../net/testdata/kept.bin: inputs (2 x 5 x 48 x 64) and the logits that PyTorch gives for
them (2 x 4 x 48 x 64) with each network's weights as written, as float32.
"""
import hashlib
import sys

import numpy as np


def rounded(w):
    """Weights (out, ...) as a step for each row, half precision, and whole steps of 8 bits."""
    rows = w.reshape(len(w), -1).astype(np.float32)
    step = (np.abs(rows).max(1) / 127).astype("<f2")
    whole = np.round(rows / np.maximum(step.astype(np.float32), 1e-12)[:, None])
    return step, np.where(step[:, None] > 0, np.clip(whole, -127, 127), 0).astype(np.int8)


weights, arrays = b"", []
for name in sys.argv[1:3]:
    z = np.load(name)
    arrays.append([])
    for i, k in enumerate(sorted(k for k in z.keys() if k[0] == "a")):
        if i % 2:  # biases
            v = z[k].astype("<f2")
            weights += v.tobytes()
        else:
            step, whole = rounded(z[k])
            weights += step.tobytes() + whole.tobytes()
            v = (whole * step.astype(np.float32)[:, None]).reshape(z[k].shape)
        arrays[-1].append(v.astype(np.float32))
open(sys.argv[3], "wb").write(weights)
if len(sys.argv) > 4:
    import torch

    import nets

    def put(m):  # a batch norm that only adds the bias
        m.conv.weight.data = num()
        m.bn.bias.data = num()
        m.bn.weight.data = torch.ones_like(m.bn.bias)
        m.bn.running_var = torch.full_like(m.bn.bias, 1 - m.bn.eps)

    def block(b):
        put(b.dw), put(b.wide), put(b.narrow)

    x = torch.tensor(z["kept_in"].astype(np.float32))
    kept = x.numpy().astype("<f4").tobytes()
    for each in arrays:
        it = iter(each)
        num = lambda: torch.tensor(next(it))
        f = nets.Finder()
        put(f.stem)
        for i in range(len(f.levels)):
            if i:
                put(f.down[i - 1])
            for b in f.blocks[i]:
                block(b)
        for i in range(len(f.levels) - 2, -1, -1):
            put(f.up[i])
            for b in f.after[i]:
                block(b)
        f.head.weight.data, f.head.bias.data = num(), num()
        f.eval()
        with torch.no_grad():
            kept += f(x).numpy().astype("<f4").tobytes()
    open(sys.argv[4], "wb").write(kept)
print(len(weights), "bytes, sha256", hashlib.sha256(weights).hexdigest())
