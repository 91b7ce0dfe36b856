#!/usr/bin/python3
"""Writes what learn.py found as hueward carries it, and prints its checksum.

  export.py OUT/fold5.npz ../net/finder.weights ../net/testdata/kept.bin

The last file holds the kept inputs (2 x 5 x 48 x 64) and what PyTorch gave for them (2 x 4 x 48 x 64), as float32.
"""
import hashlib
import sys

import numpy as np

z = np.load(sys.argv[1])
weights = b"".join(z[k].astype("<f2").tobytes() for k in sorted(z.keys()) if k[0] == "a")
open(sys.argv[2], "wb").write(weights)
if len(sys.argv) > 3:
    open(sys.argv[3], "wb").write(z["kept_in"].astype("<f4").tobytes() + z["kept_out"].astype("<f4").tobytes())
print(len(weights), "bytes, sha256", hashlib.sha256(weights).hexdigest())
