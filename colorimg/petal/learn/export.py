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
    f.put(arrays)
    f.eval()
    with torch.no_grad():
        x = torch.tensor(z["kept_in"].astype(np.float32))
        open(sys.argv[3], "wb").write(x.numpy().astype("<f4").tobytes() + f(x).numpy().astype("<f4").tobytes())
print(len(weights), "bytes, sha256", hashlib.sha256(weights).hexdigest())
