"""Reading the photos and their hand-made masks, for composite.py.

Needs only python3-pil and python3-numpy.
"""
import io
import json
import os

import numpy as np
from PIL import Image, ImageCms, ImageDraw, ImageOps

HERE = os.path.dirname(os.path.abspath(__file__))


def load_masks(path=None):
    with open(path or os.path.join(HERE, "masks.json"), encoding="utf-8") as f:
        return json.load(f)


def photo_path(folder, entry):
    return os.path.join(folder, entry["file"])


def open_srgb(path, size):
    """The photo as displayed, in sRGB, at the size that the polygons are drawn on."""
    im = ImageOps.exif_transpose(Image.open(path))
    icc = im.info.get("icc_profile")
    if im.mode not in ("RGB", "RGBA"):
        im = im.convert("RGB")
    if im.mode == "RGBA":
        flat = Image.new("RGBA", im.size, (128, 128, 128, 255))
        flat.alpha_composite(im)
        im = flat.convert("RGB")
    if icc:
        profile = ImageCms.ImageCmsProfile(io.BytesIO(icc))
        if "srgb" not in ImageCms.getProfileDescription(profile).lower():
            im = ImageCms.profileToProfile(im, profile, ImageCms.createProfile("sRGB"), outputMode="RGB")
    size = tuple(size)
    return im if im.size == size else im.resize(size, Image.LANCZOS)


def mask_of(entry, kinds=("include", "exclude")):
    """True where petal: inside an include polygon and in no exclude polygon."""
    w, h = entry["size"]
    out = []
    for kind in kinds:
        m = Image.new("1", (w, h))
        d = ImageDraw.Draw(m)
        for poly in entry[kind]:
            d.polygon([tuple(p) for p in poly], fill=1)
        out.append(np.asarray(m, dtype=bool))
    return out[0] & ~out[1] if len(out) == 2 else out[0]


# sRGB, CIE XYZ and CIELAB, D65, 2 degree observer.
M = np.array([[0.4124564, 0.3575761, 0.1804375],
              [0.2126729, 0.7151522, 0.0721750],
              [0.0193339, 0.1191920, 0.9503041]])
WHITE = np.array([0.95047, 1.0, 1.08883])


def to_linear(v):
    v = np.asarray(v, dtype=np.float64)
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def to_gamma(v):
    v = np.clip(v, 0.0, 1.0)
    return np.where(v <= 0.0031308, v * 12.92, 1.055 * v ** (1 / 2.4) - 0.055)


def lab(linear):
    t = (np.asarray(linear) @ M.T) / WHITE
    e, k = 216 / 24389, 24389 / 27
    f = np.where(t > e, np.cbrt(np.maximum(t, 0)), (k * t + 16) / 116)
    return np.stack([116 * f[..., 1] - 16,
                     500 * (f[..., 0] - f[..., 1]),
                     200 * (f[..., 1] - f[..., 2])], axis=-1)


def ciede2000(p, q):
    """CIEDE2000 of two Lab colours, as in ISO/CIE 11664-6."""
    (l1, a1, b1), (l2, a2, b2) = (np.asarray(p, float), np.asarray(q, float))
    c = (np.hypot(a1, b1) + np.hypot(a2, b2)) / 2
    g = 0.5 * (1 - np.sqrt(c ** 7 / (c ** 7 + 25.0 ** 7)))
    a1, a2 = (1 + g) * a1, (1 + g) * a2
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1, h2 = np.degrees(np.arctan2(b1, a1)) % 360, np.degrees(np.arctan2(b2, a2)) % 360
    dh = 0.0 if c1 * c2 == 0 else (h2 - h1 + 180) % 360 - 180
    dl, dc, dH = l2 - l1, c2 - c1, 2 * np.sqrt(c1 * c2) * np.sin(np.radians(dh) / 2)
    lm, cm = (l1 + l2) / 2, (c1 + c2) / 2
    if c1 * c2 == 0:
        hm = h1 + h2
    elif abs(h1 - h2) <= 180:
        hm = (h1 + h2) / 2
    else:
        hm = (h1 + h2 + 360) / 2 if h1 + h2 < 360 else (h1 + h2 - 360) / 2
    t = (1 - 0.17 * np.cos(np.radians(hm - 30)) + 0.24 * np.cos(np.radians(2 * hm))
         + 0.32 * np.cos(np.radians(3 * hm + 6)) - 0.20 * np.cos(np.radians(4 * hm - 63)))
    sl = 1 + 0.015 * (lm - 50) ** 2 / np.sqrt(20 + (lm - 50) ** 2)
    sc, sh = 1 + 0.045 * cm, 1 + 0.015 * cm * t
    rc = 2 * np.sqrt(cm ** 7 / (cm ** 7 + 25.0 ** 7))
    rt = -rc * np.sin(np.radians(60 * np.exp(-(((hm - 275) / 25) ** 2))))
    return float(np.sqrt((dl / sl) ** 2 + (dc / sc) ** 2 + (dH / sh) ** 2 + rt * (dc / sc) * (dH / sh)))
