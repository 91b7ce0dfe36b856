#!/usr/bin/python3
"""Packs what learn.py learns from. See README.md.

  pack.py PETALS ROOT MASKS DRAWN OUT [LETTERS]

PETALS: the labelled photos, with list.json, photos and labels. ROOT: the folders of the public repositories that README.md names, one over
the other. MASKS: NAME.jpg and NAME.png as masks.py and cut.py write them. DRAWN: what draw wrote. touching, beside this file, has labels of
photos whose blooms touch, each bloom by itself: k petals of bloom k, 100 + k its disc, 60 blooms not parted, 200 not known, 0 else; "whole" in
its list.json says that no bloom is left out. LETTERS (abcde) are those of its names that are taken; those with e lie in ROOT/debian, where fetch.sh of
testdata/photos puts them. Writes OUT/*.npz and OUT/drawn.json.
"""
import glob
import io
import json
import os
import random
import sys

import numpy as np
from PIL import Image

SIDE = 227
LEAST = 1 / 8  # of the frame's side, the root of a bloom's area that is learnt as the meant one
TIMES = 1  # that each bloom of touching is there
OFTEN = 8  # that those of the photos of TestRealPhotos are, which are few
MANY = 3  # that masks of irises and pansies are, of which a part is taken otherwise
NONE = 1  # surely no bloom, in labels of instances


def jpeg(im, quality=90):
    b = io.BytesIO()
    im.convert("RGB").resize((SIDE, SIDE), Image.BICUBIC if im.width < SIDE else Image.LANCZOS).save(b, "JPEG", quality=quality)
    return b.getvalue()


def blobs(out, name, files):
    off = np.cumsum([0] + [len(f) for f in files])
    np.savez(os.path.join(out, name + ".npz"), blob=np.frombuffer(b"".join(files), np.uint8), off=off)


def read(path):
    return open(path, "rb").read()


def instances(root, letters):
    """Photos and labels (227 x 227), one for each bloom of some size: 255 petals, 128 disc, 64 other blooms, 200 not known."""
    folder = os.path.join(os.path.dirname(os.path.abspath(__file__)), "touching")
    for t in json.load(open(folder + "/list.json")):
        if t["name"][0] not in letters:
            continue
        y = np.asarray(Image.open("%s/%s.png" % (folder, t["name"])).resize((SIDE, SIDE), Image.NEAREST))
        photo = jpeg(Image.open(os.path.join(root, t["source"])))
        whole = t["whole"]
        for k in range(1, 21):
            own = (y == k) | (y == 100 + k)
            if (y == k).sum() < 0.5 * (LEAST * SIDE) ** 2:
                continue
            z = np.where(y > 0, 64, NONE if whole else 0).astype(np.uint8)
            z[y == 200] = 200
            z[own] = np.where(y[own] == k, 255, 128)
            yield photo, z, OFTEN if t["name"][0] == "e" else TIMES


if __name__ == "__main__":
    petals, root, masks, drawn, out = sys.argv[1:6]
    os.makedirs(out, exist_ok=True)
    random.seed(5)

    told = json.load(open(petals + "/list.json"))
    names = [t["name"] for t in told]
    blobs(out, "photos", [jpeg(Image.open("%s/photos/%s" % (petals, t["file"])), 95) for t in told])
    np.savez_compressed(out + "/labelled.npz", names=np.array(names), fold=np.full(len(names), 9), points=np.array([t["bloom"] for t in told], np.float32),
             other=np.array([bool(t["other_blooms"]) for t in told]),
             labels=np.stack([np.asarray(Image.open("%s/labels/%s.png" % (petals, n)).convert("L")) for n in names]))

    known = set(names)
    files = [f for f in sorted(glob.glob(root + "/data/flowers/*/*.jpg"))
             if not os.path.basename(f).startswith("aug_") and os.path.basename(os.path.dirname(f)) + "_" + os.path.basename(f).split("_")[0] not in known]
    random.shuffle(files)
    blobs(out, "un", [jpeg(Image.open(f), 80) for f in files[:900]])
    blobs(out, "moreun", [jpeg(Image.open(f), 80) for f in files[900:1100]])

    photos, labels = [], []
    for path in sorted(glob.glob(masks + "/*.png")):
        number = int(os.path.basename(path).split("_")[1]) if os.path.basename(path).startswith("image_") else 0
        times = MANY if number in range(401, 481) or number in range(1281, 1361) else 1
        photos += times * [jpeg(Image.open(path[:-4] + ".jpg"), 85)]
        labels += times * [np.asarray(Image.open(path))]
    n = len(photos)
    for photo, z, times in instances(root, sys.argv[6] if len(sys.argv) > 6 else "abcde"):
        photos += times * [photo]
        labels += times * [z]
    print("masks", n, "instances", len(photos) - n)
    once = list(dict.fromkeys(photos))
    at = {photo: i for i, photo in enumerate(once)}
    blobs(out, "morephotos", once)
    np.savez_compressed(out + "/more.npz", labels=np.stack(labels), photo=np.array([at[p] for p in photos]), fold=np.full(len(labels), -1))

    files = sorted(glob.glob(drawn + "/*.jpg"))
    blobs(out, "drawn", [read(f) for f in files])
    grey = []
    for f in files:
        b = io.BytesIO()
        Image.open(f[:-4] + ".png").convert("L").save(b, "PNG")
        grey.append(b.getvalue())
    blobs(out, "drawnl", grey)
    json.dump([os.path.basename(f)[:-4] for f in files], open(out + "/drawn.json", "w"))
