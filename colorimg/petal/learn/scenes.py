"""Makes batches to learn from, on the accelerator: labelled photos, cut-out blooms on other grounds, drawn photos, photos that
a teacher labelled; turned, stretched, relit, blurred, overexposed, half shaded, with cards, tags and hands laid over them.

Labels: 0 petal of the meant bloom, 1 its disc, 2 another bloom, 3 none of these, 4 one of the last two, 5 not known, 6 one of the
first two, 7 one of the first three.
"""
import io
import math

import numpy as np
import torch
import torch.nn.functional as F
from PIL import Image

PETAL, DISC, OTHER, NONE, REST, UNKNOWN, BLOOM, ANY = range(8)


def bloom_of(y):
    return (y <= DISC) | (y == BLOOM)


def petal_of(y):
    """What a point may lie on: petals, and what may be petals."""
    return (y == PETAL) | (y == BLOOM)


def unpack(path, gray=False, size=None):
    z = np.load(path)
    blob, off = z["blob"], z["off"]
    out = []
    for i in range(len(off) - 1):
        im = Image.open(io.BytesIO(blob[off[i]:off[i + 1]].tobytes()))
        out.append(np.asarray(im.convert("L" if gray else "RGB")))
    return np.stack(out)


def picture(a, dev):
    return torch.tensor(a).to(dev).permute(0, 3, 1, 2).contiguous()


class Pool:
    """Pictures (n, 3, h, w) of 8 bits with labels (n, h', w') in the codes above; told: those whose bloom nobody knows without a
    point."""

    def __init__(self, photos, labels, told=None):
        self.photos, self.labels = photos, labels
        n = len(photos)
        self.told = torch.zeros(n, dtype=torch.bool, device=photos.device) if told is None else told
        self.box = torch.zeros(n, 4, device=photos.device)  # of the bloom, -1 to 1: x0, y0, x1, y1
        for i in range(n if labels is not None else 0):
            m = bloom_of(labels[i])
            ys, xs = torch.where(m.any(1))[0], torch.where(m.any(0))[0]
            if len(ys):
                h, w = labels.shape[1:]
                self.box[i] = torch.tensor([2 * xs[0] / w - 1, 2 * ys[0] / h - 1, 2 * (xs[-1] + 1) / w - 1, 2 * (ys[-1] + 1) / h - 1])
        # Those to be cut out: where one bloom is meant.
        self.whole = (self.box[:, 2] > self.box[:, 0]).nonzero()[:, 0]
        self.box[self.box[:, 2] <= self.box[:, 0]] = torch.tensor([-1.0, -1, 1, 1], device=photos.device)


class Maker:
    def __init__(self, dev, seed, labelled, drawn, ground, pseudo=None, shares=(0.38, 0.4)):
        self.shares = shares
        self.dev, self.g = dev, torch.Generator(device=dev).manual_seed(seed)
        self.labelled, self.drawn, self.ground, self.pseudo = labelled, drawn, ground, pseudo

    # Random numbers.
    def u(self, *shape, lo=0.0, hi=1.0):
        return lo + (hi - lo) * torch.rand(*shape, generator=self.g, device=self.dev)

    def n(self, *shape):
        return torch.randn(*shape, generator=self.g, device=self.dev)

    def pick(self, n, b):
        return torch.randint(0, n, (b,), generator=self.g, device=self.dev)

    def chance(self, p, *shape):
        return torch.rand(*shape, generator=self.g, device=self.dev) < p

    # Where.
    def affine(self, center, half, b, turn):
        """From frame to picture: the frame's middle lies at center (b, 2), its half side is half (b, 1)."""
        a = self.u(b, lo=-math.pi, hi=math.pi) * turn
        s = torch.exp(0.1 * self.n(b)).clamp(0.8, 1.25)
        flip = torch.where(self.chance(0.5, b), 1.0, -1.0)
        c, d = torch.cos(a), torch.sin(a)
        shear = 0.12 * self.n(b)
        m = torch.stack([torch.stack([c * s * flip, -d * s + shear], -1), torch.stack([d / s * flip, c / s], -1)], 1)
        return torch.cat([m * half[:, :, None], center[:, :, None]], 2)

    def sample(self, src, theta, size, mode="bilinear"):
        grid = F.affine_grid(theta, (len(theta), 1, size, size), align_corners=False)
        return F.grid_sample(src, grid, mode=mode, padding_mode="zeros", align_corners=False)

    def look(self, pool, i, theta, size):
        """Pictures and labels of pool's i through theta."""
        x = self.sample(pool.photos[i].float() / 255, theta, 2 * size)
        y = self.sample(pool.labels[i][:, None].float() + 1, theta, size, "nearest")[:, 0].round().long() - 1
        y[y < 0] = NONE
        return F.avg_pool2d(x, 2), y

    def frame(self, pool, i, b, crop):
        """Frames around the blooms i: close ones as the second look sees them where crop is true."""
        x0, y0, x1, y1 = pool.box[i].unbind(1)
        c = torch.stack([(x0 + x1) / 2, (y0 + y1) / 2], 1)
        half = torch.stack([x1 - x0, y1 - y0], 1).max(1, keepdim=True).values / 2
        share = torch.where(crop, self.u(b, lo=0.5, hi=1.1), self.u(b, lo=0.14, hi=1.0))  # of the frame's side that the bloom takes
        h = torch.where(crop[:, None], half / share[:, None], torch.maximum(half / share[:, None], torch.zeros_like(half)))
        whole = (~crop) & self.chance(0.6, b)  # the picture as it is, or nearly
        h = torch.where(whole[:, None], self.u(b, 1, lo=0.8, hi=1.15), h.clamp(max=1.5))
        off = self.n(b, 2) * torch.where(crop, 0.12, 0.35)[:, None] * (h - half).clamp(min=0.05)
        c = torch.where(whole[:, None], self.n(b, 2) * 0.1, c + off)
        return c, h

    # Colours.
    def turns(self, b, p):
        """Draws for hue: which pictures, by what angle, how deep, how light; (4, b)."""
        on = self.chance(p, b).float()
        one = torch.ones(b, device=self.dev)
        return torch.stack([on, self.u(b, lo=-math.pi, hi=math.pi) * on, torch.where(on > 0, self.u(b, lo=0.2, hi=1.3), one),
                            torch.where(on > 0, self.u(b, lo=0.55, hi=1.5), one)])

    def hue(self, x, mask, turns):
        """Turns the hue, and changes depth and light, within mask (b, 1, h, w)."""
        _, a, depth, light = turns[:, :, None, None, None]
        y = x.mean(1, keepdim=True)
        d = x - y
        # A turn about the grey axis.
        cross = torch.stack([d[:, 2] - d[:, 1], d[:, 0] - d[:, 2], d[:, 1] - d[:, 0]], 1) / math.sqrt(3)
        z = ((y * light).clamp(0, 1) + depth * (d * torch.cos(a) + cross * torch.sin(a))).clamp(0, 1)
        return x + (z - x) * mask

    def second(self, x, petal, p):
        """Gives some blooms a second colour: at the tips or the base, in stripes, on one side, in blotches, in the lights."""
        b, _, h, w = x.shape
        yy, xx = torch.meshgrid(torch.linspace(-1, 1, h, device=self.dev), torch.linspace(-1, 1, w, device=self.dev), indexing="ij")
        n = petal.flatten(1).sum(1).clamp(min=1)[:, None, None]
        mean = lambda v: (petal[:, 0] * v).flatten(1).sum(1)[:, None, None] / n
        dx, dy = xx - mean(xx), yy - mean(yy)
        r = (dx ** 2 + dy ** 2 + 1e-6).sqrt()
        r, to = r / mean(r).clamp(min=1e-2) - 1, torch.atan2(dy, dx)
        a = self.u(b, 1, 1, lo=-math.pi, hi=math.pi)
        light = x.mean(1)
        fields = torch.stack([2 * r, -2 * r, torch.sin(to * torch.randint(3, 14, (b, 1, 1), generator=self.g, device=self.dev) + a),
                              1.5 * (r + 1) * torch.cos(to - a), F.interpolate(self.n(b, 1, 5, 5), size=(h, w), mode="bicubic")[:, 0],
                              8 * (light - mean(light))], 1)
        f = fields.gather(1, self.pick(6, b)[:, None, None, None].expand(b, 1, h, w))
        m = torch.sigmoid((f - 0.5 * self.n(b, 1, 1, 1)) * torch.exp(self.u(b, 1, 1, 1, lo=0.5, hi=3.5)))
        m = m * petal * self.chance(p, b).float()[:, None, None, None]
        paint = self.u(b, 3, lo=0.02, hi=1.1)[:, :, None, None] * (x.mean(1, keepdim=True) * self.u(b, 1, 1, 1, lo=0.8, hi=1.8) + 0.05)
        turned = self.hue(x, torch.ones_like(m), self.turns(b, 1.0))
        return x + (torch.where(self.chance(0.5, b, 1, 1, 1), paint.clamp(0, 1), turned) - x) * m

    def blur(self, x, sigma):
        """A Gaussian blur of sigma (b,) pixels; by shifts, which is quicker than grouped convolutions."""
        r = 5
        t = torch.arange(-r, r + 1, device=self.dev).float()
        k = torch.exp(-t[None] ** 2 / (2 * sigma[:, None].clamp(min=0.05) ** 2))
        k = (k / k.sum(1, keepdim=True))[:, :, None, None, None]
        h, w = x.shape[2:]
        p = F.pad(x, (r, r, r, r), mode="reflect")
        y = sum(k[:, i] * p[:, :, i:i + h] for i in range(2 * r + 1))
        return sum(k[:, i] * y[:, :, :, i:i + w] for i in range(2 * r + 1))

    def light(self, x):
        b, _, h, w = x.shape
        yy, xx = torch.meshgrid(torch.linspace(-1, 1, h, device=self.dev), torch.linspace(-1, 1, w, device=self.dev), indexing="ij")
        lin = x.clamp(0, 1) ** 2.2
        ev = torch.where(self.chance(0.75, b), 0.35 * self.n(b), self.u(b, lo=-1.5, hi=1.3))
        cast = torch.exp(self.n(b, 3) * torch.where(self.chance(0.7, b), 0.05, 0.25)[:, None])
        k = torch.exp2(ev)[:, None, None, None] * cast[:, :, None, None]
        a = self.u(b, lo=-math.pi, hi=math.pi)
        along = torch.cos(a)[:, None, None] * xx + torch.sin(a)[:, None, None] * yy
        slope = 1 + self.u(b, lo=0, hi=0.25)[:, None, None] * along
        # Half shade: an edge, straight or wavy, sharp or soft.
        wave = 6 * self.u(b)[:, None, None] * (yy - xx) + 6 * self.u(b)[:, None, None]
        at = self.u(b, lo=-0.8, hi=0.8)[:, None, None] + 0.12 * torch.sin(wave)
        soft = self.u(b, lo=0.02, hi=0.3)[:, None, None]
        shade = torch.where(self.chance(0.3, b), self.u(b, lo=0.25, hi=0.75), torch.zeros(b, device=self.dev))[:, None, None]
        dim = 1 - shade * torch.sigmoid((along - at) / soft * 3)
        lin = lin * k * (slope * dim)[:, None]
        grain = torch.where(self.chance(0.5, b), self.u(b, lo=0, hi=0.02), torch.zeros(b, device=self.dev))[:, None, None, None]
        lin = lin.clamp(0, 1.15)
        lin = torch.where(self.chance(0.7, b)[:, None, None, None], lin.clamp(max=1), lin)
        y = lin.clamp(min=1e-5) ** (1 / 2.2)
        gray = y.mean(1, keepdim=True)
        sat = torch.where(self.chance(0.5, b), self.u(b, lo=0.7, hi=1.35), torch.ones(b, device=self.dev))[:, None, None, None]
        con = torch.where(self.chance(0.5, b), self.u(b, lo=0.8, hi=1.25), torch.ones(b, device=self.dev))[:, None, None, None]
        y = (gray + sat * (y - gray) - 0.5) * con + 0.5
        y = self.blur(y, torch.where(self.chance(0.4, b), self.u(b, lo=0.2, hi=1.6), torch.full((b,), 0.05, device=self.dev)))
        return (y + grain * self.n(*y.shape)).clamp(0, 1.1)

    def things(self, x, y):
        """Lays cards, tags and fingers over some pictures."""
        b, _, h, w = x.shape
        yy, xx = torch.meshgrid(torch.linspace(-1, 1, h, device=self.dev), torch.linspace(-1, 1, w, device=self.dev), indexing="ij")
        for kind, p in (("card", 0.6), ("tag", 0.2), ("finger", 0.15), ("blade", 0.25)):
            on = self.chance(p, b)
            cx, cy = self.u(b, lo=-1, hi=1), self.u(b, lo=-1, hi=1)
            a = self.u(b, lo=-math.pi, hi=math.pi)
            hw, hh = self.u(b, lo=0.08, hi=0.28), self.u(b, lo=0.08, hi=0.22)
            if kind == "finger":
                hw, hh = self.u(b, lo=0.05, hi=0.12), self.u(b, lo=0.4, hi=1.0)
            if kind == "blade":
                hw, hh = self.u(b, lo=0.01, hi=0.05), self.u(b, lo=0.4, hi=1.5)
            dx, dy = xx - cx[:, None, None], yy - cy[:, None, None]
            u = (torch.cos(a)[:, None, None] * dx + torch.sin(a)[:, None, None] * dy) / hw[:, None, None]
            v = (-torch.sin(a)[:, None, None] * dx + torch.cos(a)[:, None, None] * dy) / hh[:, None, None]
            if kind == "finger":
                r = torch.maximum(u.abs(), (u ** 2 + (v.abs() - 0.9).clamp(min=0) ** 2 * 40).sqrt())
            else:
                r = torch.maximum(u.abs(), v.abs())
            inside = (r < 1) & on[:, None, None]
            # Not over most of the bloom.
            bloom = bloom_of(y)
            cover = (inside & bloom).flatten(1).sum(1).float() / bloom.flatten(1).sum(1).clamp(min=1)
            inside = inside & (cover < 0.25)[:, None, None]
            if kind == "card":
                face = self.u(b, lo=0.38, hi=0.58)[:, None, None, None] + 0.02 * self.n(b, 3)[:, :, None, None]
                rim = torch.where(self.chance(0.5, b), self.u(b, lo=0.02, hi=0.2), self.u(b, lo=0.75, hi=1.0))[:, None, None, None]
                c = torch.where((r > 0.85)[:, None], rim.expand(b, 3, h, w), face.expand(b, 3, h, w))
                strip = self.chance(0.3, b)[:, None, None, None]
                bars = torch.where(u < -0.33, 0.95, torch.where(u > 0.33, 0.2, 0.46))[:, None].expand(b, 3, h, w)
                c = torch.where(strip, bars, c)
            elif kind == "tag":
                cells = self.chance(0.5, b, 1, 24, 24).float()
                uv = torch.stack([u.clamp(-1, 1), v.clamp(-1, 1)], -1)
                q = F.grid_sample(cells, uv, mode="nearest", align_corners=False)
                q = torch.where((r > 0.75)[:, None], torch.ones_like(q), q)
                c = (0.08 + 0.85 * q).expand(b, 3, h, w)
            elif kind == "finger":
                skin = torch.tensor([0.82, 0.62, 0.5], device=self.dev) * self.u(b, 1, lo=0.45, hi=1.1)
                c = (skin[:, :, None, None] * (1 - 0.35 * u.abs()[:, None] ** 2)).expand(b, 3, h, w)
            else:
                green = torch.tensor([0.35, 0.5, 0.2], device=self.dev) * self.u(b, 1, lo=0.3, hi=1.3) + 0.08 * self.n(b, 3)
                c = green[:, :, None, None].expand(b, 3, h, w)
            x = torch.where(inside[:, None], c.clamp(0, 1), x)
            y = torch.where(inside, torch.full_like(y, NONE), y)
        return x, y

    # The parts of a batch.
    def real(self, b, size, pool, turn=1.0):
        i = self.pick(len(pool.photos), b)
        crop = self.chance(0.5, b)
        c, h = self.frame(pool, i, b, crop)
        small = self.chance(0.5, b).float()
        x, y = self.look(pool, i, self.affine(c, h, b, turn * (0.15 + 0.85 * small)), size)
        bloom = ((bloom_of(y) | (y == OTHER) | (y == ANY))[:, None]).float()
        x = self.hue(x, self.soft(bloom), self.turns(b, 0.35))
        x = self.second(x, self.soft(petal_of(y)[:, None].float()), 0.15)
        return x, y, ~pool.told[i]

    def soft(self, m):
        return F.avg_pool2d(F.pad(m, (1, 1, 1, 1), mode="replicate"), 3, 1)

    def composite(self, b, size):
        """One to four cut-out blooms, of one photo or of several, before a ground of its own; each such picture is shown twice,
        another bloom being meant, where there are several."""
        b2 = (b + 1) // 2
        g = self.pick(len(self.ground), b2)
        s = self.u(b2, 1, lo=0.3, hi=1.0)
        th = self.affine(self.n(b2, 2) * 0.3 * (1 - s), s, b2, 1.0)
        x = self.sample(self.ground[g].float() / 255, th, size)
        x = self.blur(x, torch.where(self.chance(0.5, b2), self.u(b2, lo=0.5, hi=3.0), torch.full((b2,), 0.05, device=self.dev)))
        flat = self.chance(0.15, b2)[:, None, None, None]  # a board
        board = self.u(b2, 3, lo=0.05, hi=0.95)[:, :, None, None]
        board = torch.where(self.chance(0.6, b2)[:, None, None, None], board.mean(1, keepdim=True).expand_as(board), board)
        x = torch.where(flat, board + 0.02 * self.n(b2, 1, size, size), x)
        own = torch.zeros(b2, size, size, dtype=torch.long, device=self.dev)  # 0 ground, 1 petal, 2 disc, 3 one of these
        which = torch.full_like(own, -1)
        most = 4
        count = torch.where(self.chance(0.15, b2), 1, torch.randint(2, most + 1, (b2,), generator=self.g, device=self.dev))
        meant = (self.u(b2) * count).long()
        other = (meant + 1 + (self.u(b2) * (count - 1)).long()) % count
        cut = self.chance(0.4, b2) if self.pseudo is not None else self.chance(0.0, b2)  # blooms that the teacher labelled
        whole = self.labelled.whole
        first, firstcut = whole[self.pick(len(whole), b2)], self.pick(len(self.pseudo.cut), b2) if self.pseudo is not None else None
        alike = self.chance(0.65, b2)
        twin = self.chance(0.6, b2) & alike  # of one colour too
        near = self.chance(0.7, b2)
        share0 = torch.where(self.chance(0.5, b2), self.u(b2, lo=0.45, hi=1.0), self.u(b2, lo=0.15, hi=0.6))
        at0 = self.n(b2, 2) * 0.25
        turns0, tone = self.turns(b2, 0.4), self.u(b2, lo=0.75, hi=1.25)
        for k in range(most):
            i = torch.where(alike, first, whole[self.pick(len(whole), b2)])
            share = share0 * torch.exp(0.25 * self.n(b2)) if k else share0
            side = self.u(b2, lo=-math.pi, hi=math.pi)
            d = torch.where(near, share0 * self.u(b2, lo=0.5, hi=1.2), self.u(b2, lo=0.3, hi=1.6))
            at = at0 if k == 0 else at0 + torch.stack([torch.cos(side), torch.sin(side)], 1) * d[:, None]
            px, petal, disc, either = self.cutout(self.labelled, i, share, at, size)
            if self.pseudo is not None:
                j = self.pseudo.cut[torch.where(alike, firstcut, self.pick(len(self.pseudo.cut), b2))]
                c = cut[:, None, None, None]
                cutout = self.cutout(self.pseudo.pool, j, share, at, size)
                px, petal, disc, either = (torch.where(c, v, u) for u, v in zip((px, petal, disc, either), cutout))
            alpha = petal + disc + either
            px = self.hue(px, torch.ones_like(alpha), torch.where(twin, turns0, self.turns(b2, 0.4)))
            px = self.second(px, petal + either, 0.2)
            out = (~self.chance(0.75, b2)) & (k != meant) & (k != other)  # out of focus, a rival
            sigma = torch.where(out, self.u(b2, lo=1, hi=3), torch.full((b2,), 0.05, device=self.dev))
            blurred = self.blur(torch.cat([px * alpha, alpha], 1), sigma)
            px, alpha = blurred[:, :3], blurred[:, 3:]
            on = (k < count)[:, None, None]
            gain = torch.where(twin & self.chance(0.7, b2), tone, self.u(b2, lo=0.75, hi=1.25))[:, None, None, None]
            shade = 1 - self.shadow(alpha) * self.chance(0.5, b2)[:, None, None, None] * on[:, None]  # on what lies behind
            x = torch.where(on[:, None], x * shade * (1 - alpha) + px * gain, x)
            solid = (alpha[:, 0] > 0.5) & on
            own = torch.where(solid, torch.where(disc[:, 0] > 0.5, 2, torch.where(either[:, 0] > petal[:, 0], 3, 1)), own)
            which = torch.where(solid, k, which)
        ground = torch.where(flat[:, 0], torch.full_like(own, NONE), torch.full_like(own, REST))
        x, y = torch.cat([x, x])[:b], []
        for m in (meant, other):
            mine = which == m[:, None, None]
            y.append(torch.where(own == 0, ground, torch.where(mine, torch.where(own == 3, -1, own - 1), torch.full_like(own, OTHER))))
        y = torch.cat(y)[:b]
        y = torch.where(y < 0, y + BLOOM + 1, y)
        flat = torch.cat([flat, flat])[:b]
        # Without a point the meant one must be plain: alone, or well the largest.
        area = bloom_of(y).flatten(1).sum(1).float()
        rest = (y == OTHER).flatten(1).sum(1).float()
        plain = (area > 2.0 * rest) & (area > 0.12 * size * size) & flat[:, 0, 0, 0] | (area > 3 * rest) & (area > 0.3 * size * size)
        return x.clamp(0, 1.2), y, plain

    def cutout(self, pool, i, share, at, size):
        """The blooms i of a pool, of such a share of the frame, their middles at the places at: pictures, cover of petals, of disc
        and of what is one of these."""
        x0, y0, x1, y1 = pool.box[i].unbind(1)
        c = torch.stack([(x0 + x1) / 2, (y0 + y1) / 2], 1)
        half = torch.stack([x1 - x0, y1 - y0], 1).max(1, keepdim=True).values / 2 / share[:, None].clamp(min=0.1)
        th = self.affine(c, half, len(i), 1.0)
        th[:, :, 2] = c - (th[:, :, :2] @ at[:, :, None])[:, :, 0]
        px = self.sample(pool.photos[i].float() / 255, th, size)
        lab = self.sample(pool.labels[i][:, None].float() + 1, th, 2 * size, "nearest").round() - 1
        return px, *(F.avg_pool2d((lab == k).float(), 2) for k in (PETAL, DISC, BLOOM))

    def shadow(self, alpha):
        """The shade of a bloom on what lies behind it, 0 to 0.6, to a side."""
        b, size = len(alpha), alpha.shape[-1]
        m = torch.zeros(b, 2, 3, device=self.dev)
        m[:, 0, 0] = m[:, 1, 1] = 1
        m[:, :, 2] = 0.08 * self.n(b, 2)
        small = F.avg_pool2d(alpha, 4)
        s = self.sample(small, m, size // 4)
        s = F.interpolate(F.avg_pool2d(F.pad(s, (1, 1, 1, 1)), 3, 1), size=(size, size), mode="bilinear")
        return s * self.u(b, 1, 1, 1, lo=0.1, hi=0.6)

    def said(self, y, plain):
        """Points and strokes: channels in and out, (b, 2, h, w)."""
        b, h, w = y.shape
        dot = lambda: torch.zeros(b, h, w, device=self.dev)
        petal, disc = petal_of(y).float(), (y == DISC).float()
        inner = self.soft(self.soft(petal[:, None]))[:, 0]
        weight = (inner > 0.95).float() + 0.02 * petal + 0.15 * disc * self.chance(0.5, b)[:, None, None]
        weight = weight.flatten(1) + 1e-9
        not_bloom = ((y == OTHER).float() * 3 + ((y == NONE) | (y == REST)).float()).flatten(1) + 1e-9
        told = ((~plain) | self.chance(0.6, b)) & petal_of(y).flatten(1).any(1)
        more = told & self.chance(0.12, b)
        out = self.chance(0.12, b) & told
        yy, xx = torch.meshgrid(torch.arange(h, device=self.dev).float(), torch.arange(w, device=self.dev).float(), indexing="ij")
        ch = [dot(), dot()]
        for c, wts, n, on in ((0, weight, 3, told), (1, not_bloom, 3, out)):
            at = torch.multinomial(wts, n, replacement=True, generator=self.g)
            for k in range(n):
                act = on if k == 0 else on & (more if c == 0 else self.chance(0.6, b))
                py, px = (at[:, k] // w).float(), (at[:, k] % w).float()
                heat = torch.exp(-((yy - py[:, None, None]) ** 2 + (xx - px[:, None, None]) ** 2) / (2 * SPOT ** 2))
                ch[c] = torch.maximum(ch[c], heat * act[:, None, None])
        return torch.stack(ch, 1), told

    def batch(self, b, size, soft_share=0.0):
        """x (b, 5, size, size), labels (b, size, size), and soft labels for the last of the batch, or None."""
        nu = int(b * soft_share)
        n = b - nu
        nr, nc = int(n * self.shares[0]), int(n * self.shares[1])
        nd = n - nr - nc
        parts = [self.real(nr, size, self.labelled), self.composite(nc, size), self.real(nd, size, self.drawn)]
        x, y = torch.cat([p[0] for p in parts]), torch.cat([p[1] for p in parts])
        plain = torch.cat([p[2] for p in parts])
        soft = None
        if nu:
            px, py, soft, alone = self.pseudo.look(self, nu, size)
            x, y = torch.cat([x, px]), torch.cat([y, py])
            plain = torch.cat([plain, alone])
        x, y = self.things(x, y)
        plain = plain & (petal_of(y).flatten(1).sum(1) > 60)
        ok = ((petal_of(y) | (y == ANY)).flatten(1).sum(1) > 20) | (y == NONE).flatten(1).all(1)  # or there is no bloom at all
        y = torch.where(ok[:, None, None], y, torch.full_like(y, UNKNOWN))
        x = self.light(x)
        # Outside the picture there is nothing.
        said, _ = self.said(y, plain)
        if soft is not None:
            covered = y[n:] == NONE
            soft = torch.where(covered[:, None], torch.zeros_like(soft), soft)
        return torch.cat([x - 0.5, said], 1), y, soft


SPOT = 2.5  # standard deviation of a point, in pixels of the network's picture


class Pseudo:
    """Photos that a teacher labelled: photos (n, 3, h, w) uint8, prob (m, 4, h', w') half of the photo of[m], whose bloom
    is plain without a point or not."""

    def __init__(self, photos, prob, of, plain):
        self.prob, self.plain = prob, plain
        best = prob.argmax(1)
        best = torch.where(prob.amax(1) > 0.5, best, torch.full_like(best, UNKNOWN))
        self.pool = Pool(photos[of], best.to(torch.uint8))
        # Those to be cut out: compact, hardly on the frame.
        m = (best <= DISC).float()
        h, w = m.shape[1:]
        yy, xx = torch.meshgrid(torch.arange(h, device=m.device).float(), torch.arange(w, device=m.device).float(), indexing="ij")
        n = m.flatten(1).sum(1).clamp(min=1)
        mean = lambda v: (m * v).flatten(1).sum(1) / n
        mx, my = mean(xx), mean(yy)
        cxx, cyy, cxy = mean(xx ** 2) - mx ** 2, mean(yy ** 2) - my ** 2, mean(xx * yy) - mx * my
        det = (cxx * cyy - cxy ** 2).clamp(min=1e-3)
        long = (cxx + cyy) ** 2 / det  # 4 of a disc, 7.2 of two that touch
        full = n / (4 * math.pi * det.sqrt())
        rim = m[:, 0].sum(1) + m[:, -1].sum(1) + m[:, :, 0].sum(1) + m[:, :, -1].sum(1)
        good = (long < 5.5) & (full > 0.8) & (rim < 0.15 * n.sqrt()) & (n > 0.04 * h * w)
        self.cut = (good if good.any() else n > 0).nonzero()[:, 0]

    def look(self, maker, b, size):
        i = maker.pick(len(self.prob), b)
        c, h = maker.frame(self.pool, i, b, maker.chance(0.5, b))
        th = maker.affine(c, h, b, 0.5)
        x = F.avg_pool2d(maker.sample(self.pool.photos[i].float() / 255, th, 2 * size), 2)
        p = maker.sample(self.prob[i].float(), th, size)
        s = p.sum(1, keepdim=True)
        none = torch.tensor([0, 0, 0, 1.0], device=x.device)[None, :, None, None]
        p = torch.where(s > 0.5, p / s.clamp(min=1e-3), none.expand_as(p))
        top, y = p.max(1)
        y = torch.where(top > 0.5, y, torch.full_like(y, UNKNOWN))
        bloom = p[:, :3].sum(1, keepdim=True)
        x = maker.hue(x, bloom, maker.turns(b, 0.3))
        x = maker.second(x, p[:, :1], 0.15)
        return x, y, p, self.plain[i]
