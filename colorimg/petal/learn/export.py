#!/usr/bin/python3
"""Writes what learn.py found as hueward carries it, and prints its checksum.

  export.py OUT/fold5.npz ../net/finder.weights [../net/testdata/kept.bin]

The last file holds inputs (2 x 5 x 48 x 64) and the logits that PyTorch gives for them (2 x 4 x 48 x 64) with the weights as
written, as float32.
"""
import hashlib
import sys

import numpy as np

z = np.load(sys.argv[1])
arrays = [z[k].astype("<f2") for k in sorted(z.keys()) if k[0] == "a"]
weights = b"".join(a.tobytes() for a in arrays)
open(sys.argv[2], "wb").write(weights)
if len(sys.argv) > 3:
    import torch

    import nets

    f = nets.Finder()
    it = iter(arrays)
    num = lambda: torch.tensor(next(it).astype(np.float32))

    def put(m):  # a batch norm that only adds the bias
        m.conv.weight.data = num()
        m.bn.bias.data = num()
        m.bn.weight.data = torch.ones_like(m.bn.bias)
        m.bn.running_var = torch.full_like(m.bn.bias, 1 - m.bn.eps)

    def block(b):
        put(b.dw), put(b.wide), put(b.narrow)

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
        x = torch.tensor(z["kept_in"].astype(np.float32))
        open(sys.argv[3], "wb").write(x.numpy().astype("<f4").tobytes() + f(x).numpy().astype("<f4").tobytes())
print(len(weights), "bytes, sha256", hashlib.sha256(weights).hexdigest())
