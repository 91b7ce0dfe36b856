#!/usr/bin/python3
"""Learns the petal finder. See README.md.

  learn.py --data DIR --out DIR [--fold K] [--steps T,S] [--smoke]

Fold K (0 to 4) leaves that fold's photos out and tests on them; 5 learns from all. Writes OUT/fold<K>.npz: the finder's
weights folded, half precision, and what it gave on a few kept inputs; OUT/fold<K>.json: how well it did.
"""
import argparse
import copy
import json
import os
import time

import numpy as np
import torch
import torch.nn.functional as F

import nets
import scenes
from scenes import ANY, BLOOM, DISC, NONE, OTHER, PETAL, REST, UNKNOWN

p = argparse.ArgumentParser()
p.add_argument("--data", default="data")
p.add_argument("--out", default="out")
p.add_argument("--fold", type=int, default=5)
p.add_argument("--steps", default="1400,5000")
p.add_argument("--seed", type=int, default=1)
p.add_argument("--smoke", action="store_true")
p.add_argument("--batch", type=int, default=64)
p.add_argument("--until", type=float, default=1e9, help="seconds after the start by which the finder is to be done")
p.add_argument("--plain", action="store_true", help="record no steps")
p.add_argument("--rate", type=float, default=1.0, help="of the finder's learning, times what it is otherwise")
p.add_argument("--shares", default="0.38,0.40",
               help="of labelled photos and of composites in a batch without those of the teacher; the rest is drawn")
p.add_argument("--soft", type=float, default=0.4, help="share of a batch that the teacher labelled")
p.add_argument("--guided", type=float, default=-1,
               help="learn from the mean of finder and old of the folder of --resume, and from the labels with this weight")
p.add_argument("--more", type=float, default=0,
               help="share of photos of other flowers in a batch, learnt from their labels alone; the finder is then its own guide")
p.add_argument("--mean", type=float, default=0, help="end with the mean of the finder's weights before and after, of which this share after")
p.add_argument("--teach", type=float, default=1e9, help="seconds after the start by which the teacher is to be done")
p.add_argument("--again", type=int, default=0, help="steps with earlier pictures, turned and mirrored, after each with new ones")
p.add_argument("--resume", default="", help="a folder with teacher and finder of an earlier run, to go on from")
p.add_argument("--carried", default="", help="go on from weights as hueward carries them, which are guide and teacher too; their batch norms stay")
a = p.parse_args()
dev = torch.device("cuda" if torch.cuda.is_available() else "cpu")
torch.manual_seed(a.seed * 10 + a.fold)
start = time.time()
say = lambda *s: print("[%d %5.0fs]" % (a.fold, time.time() - start), *s, flush=True)


def load():
    z = np.load(os.path.join(a.data, "labelled.npz"))
    photos, raw, other = scenes.picture(scenes.unpack(os.path.join(a.data, "photos.npz")), dev), z["labels"], z["other"]
    y = np.full(raw.shape, NONE, np.uint8)
    y[raw == 255], y[raw == 128], y[raw == 64] = PETAL, DISC, OTHER
    for i in np.flatnonzero(other):
        y[i][raw[i] == 0] = REST
    y = torch.tensor(y).to(dev)
    test = torch.tensor(np.flatnonzero(z["fold"] == a.fold)).to(dev)
    train = torch.tensor(np.flatnonzero(z["fold"] != a.fold)).to(dev)
    names = [str(n) for n in z["names"]]
    un = scenes.unpack(os.path.join(a.data, "un.npz"))
    d, dl = scenes.unpack(os.path.join(a.data, "drawn.npz")), scenes.unpack(os.path.join(a.data, "drawnl.npz"), gray=True)
    more = np.array([n.endswith("_1") for n in json.load(open(os.path.join(a.data, "drawn.json")))])
    if a.smoke:
        un, d, dl, more, test = un[:4], d[:20], dl[:20], more[:20], test[:2]
    dy = np.full(dl.shape, NONE, np.uint8)
    dy[more] = REST
    dy[dl == 255], dy[dl == 128] = PETAL, DISC
    pool = scenes.Pool(scenes.picture(d, dev), torch.tensor(dy).to(dev))
    return photos, y, torch.tensor(z["points"]).to(dev), names, train, test, scenes.picture(un, dev), pool


def load_more():
    """Photos of other flowers: a pool of those whose labels were looked at one by one, six of which have a fold, and of the labelled
    ones; those without labels. 160 in the labels: petal or disc; 32: of some bloom; 1: surely none."""
    z = np.load(os.path.join(a.data, "more.npz"))
    x, raw = scenes.picture(scenes.unpack(os.path.join(a.data, "morephotos.npz")), dev), z["labels"]
    x = x[torch.tensor(z["photo"]).to(dev)]
    y = np.full(raw.shape, REST, np.uint8)
    y[np.isin(raw, (160, 32)).any((1, 2))] = NONE  # masks show all blooms
    for k, v in {255: PETAL, 128: DISC, 64: OTHER, 200: UNKNOWN, 160: BLOOM, 32: ANY, 1: NONE}.items():
        y[raw == k] = v
    own = np.isin(raw, (160, 255, 128)).sum((1, 2))
    beside = ((raw == 64).sum((1, 2)) > 0.4 * own) & (own > 0)
    keep = np.repeat(np.arange(len(raw)), np.where(z["fold"] < 0, 1, np.where(z["fold"] == a.fold, 0, 4)))
    told = torch.cat([torch.tensor(beside[keep]).to(dev), torch.zeros(len(train), dtype=torch.bool, device=dev)])
    y = torch.tensor(y[keep]).to(dev).repeat_interleave(2, 1).repeat_interleave(2, 2)
    return (scenes.Pool(torch.cat([x[torch.tensor(keep).to(dev)], photos[train]]), torch.cat([y, labels[train]]), told),
            scenes.picture(scenes.unpack(os.path.join(a.data, "moreun.npz")), dev))


photos, labels, points, names, train, test, un, drawn = load()
labelled = scenes.Pool(photos[train], labels[train])
more, moreun = load_more() if a.more else (None, None)
if a.smoke and a.more:
    moreun = moreun[:4]
say("data", len(train), len(test), len(un), len(drawn.photos))


def loss_of(logits, y, soft):
    lp = F.log_softmax(logits.float(), 1)
    b = len(y)
    rest = torch.logsumexp(lp[:, 2:], 1, keepdim=True)
    either, some = (torch.logsumexp(lp[:, :k], 1, keepdim=True) for k in (2, 3))
    lp8 = torch.cat([lp, rest, torch.zeros_like(rest), either, some], 1)
    hard = -lp8.gather(1, y[:, None])[:, 0]
    n = b - (0 if soft is None else len(soft))
    # Edges count more: that is where readings are lost.
    bloom = scenes.bloom_of(y).float()[:, None]
    edge = (F.max_pool2d(bloom, 5, 1, 2) - (-F.max_pool2d(-bloom, 5, 1, 2)))[:, 0]
    w = 1 + 1.5 * edge
    l = (hard[:n] * w[:n]).mean()
    if soft is not None:
        ce = -(soft * lp[n:]).sum(1)
        l = l * n / b + ce.mean() * (b - n) / b
    # Overlap of the petals, and of the whole bloom.
    pr = lp.exp()
    told = (y != UNKNOWN) & (y != ANY)
    for t, q, known in ((y == PETAL, pr[:, 0], told & (y != BLOOM)), (scenes.bloom_of(y), pr[:, 0] + pr[:, 1], told)):
        t, known = t.float(), known.float()
        i = (q * t * known).flatten(1).sum(1)
        u = ((q + t - q * t) * known).flatten(1).sum(1)
        has = (t.flatten(1).sum(1) > 20).float()
        l = l + 0.5 * ((1 - (i + 1) / (u + 1)) * has).sum() / has.sum().clamp(min=1)
    return l


class Steps:
    """Learning steps of net, on an accelerator recorded once for each size of picture and played again, which is several times
    as quick."""

    def __init__(self, net, groups):
        self.guides, self.share = guides if net is finder else [], 0.0
        self.net, self.cuda, self.kept = net, dev.type == "cuda", {}
        if self.cuda:
            self.side = torch.cuda.Stream()
            for g in groups:
                g["lr"] = torch.tensor(float(g["lr"]), device=dev)
        self.opt = torch.optim.AdamW(groups, weight_decay=1e-3, **({"fused": True, "capturable": True} if self.cuda else {}))
        self.base = [float(g["lr"]) for g in self.opt.param_groups]

    def rate(self, f):
        for g, b in zip(self.opt.param_groups, self.base):
            if self.cuda:
                g["lr"].fill_(b * f)
            else:
                g["lr"] = b * f

    def plain(self, x, y, soft):
        with torch.autocast(dev.type, torch.bfloat16, enabled=self.cuda):
            out = self.net(x)
        b, k = len(x), int(len(x) * a.more)
        n = b - k
        s = 0 if soft is None else int(n * self.share)
        l = loss_of(out[:n], y[:n], None if soft is None else soft[:s])
        if self.guides:
            with torch.no_grad(), torch.autocast(dev.type, torch.bfloat16, enabled=self.cuda):
                v = x[:n]
                t = sum(F.softmax(g(v).float(), 1) for g in self.guides)
                t = (t + torch.flip(sum(F.softmax(g(torch.flip(v, [3])).float(), 1) for g in self.guides), [3])) / 2 / len(self.guides)
            l = a.guided * l - 2 * (t * F.log_softmax(out[:n].float(), 1)).sum(1).mean()
        if k:
            l = l * n / b + loss_of(out[n:], y[n:], None if soft is None else soft[s:]) * k / b
        self.opt.zero_grad(set_to_none=True)
        l.backward()
        torch.nn.utils.clip_grad_norm_(self.net.parameters(), 2.0)
        self.opt.step()
        return l.detach()

    def step(self, x, y, soft):
        if not self.cuda:
            return self.plain(x, y, soft)
        key = (tuple(x.shape), soft is not None)
        if key not in self.kept:
            self.kept[key] = [0, None, None]
        seen = self.kept[key]
        seen[0] += 1
        if seen[0] == 4 and not a.plain:
            try:
                held = [None if v is None else v.clone() for v in (x, y, soft)]
                torch.cuda.synchronize()
                graph = torch.cuda.CUDAGraph()
                with torch.cuda.graph(graph):
                    l = self.plain(*held)
                seen[1], seen[2] = (graph, l), held
            except Exception as err:
                say("not recorded:", repr(err)[:300])
                torch.cuda.synchronize()
        if seen[1] is None:
            self.side.wait_stream(torch.cuda.current_stream())
            with torch.cuda.stream(self.side):
                l = self.plain(x, y, soft)
            torch.cuda.current_stream().wait_stream(self.side)
            return l
        for to, v in zip(seen[2], (x, y, soft)):
            if to is not None:
                to.copy_(v)
        seen[1][0].replay()
        return seen[1][1].clone()


def turned(parts):
    """A batch, turned by a quarter or more and mirrored, all of it alike."""
    k, flip = int(torch.randint(4, (1,))), bool(torch.randint(2, (1,)))
    out = []
    for v in parts:
        if v is not None:
            v = torch.rot90(v, k, (-2, -1))
            v = (torch.flip(v, (-1,)) if flip else v).contiguous()
        out.append(v)
    return out


def learn(net, groups, maker, steps, batch, sizes, soft_share, until=1e9, again=0):
    """Trains net for so many steps, or until so many seconds after the start if that is sooner; returns the steps done."""
    how = Steps(net, groups)
    how.share = soft_share
    live = net.state_dict()
    ema = {k: v.detach().clone().float() for k, v in live.items()}
    fl = [key for key in ema if live[key].dtype.is_floating_point]
    means, lives = [ema[key] for key in fl], [live[key] for key in fl]
    net.train()
    if a.carried:
        for m in net.modules():
            if isinstance(m, torch.nn.BatchNorm2d):
                m.eval()
    held = {size: [] for size in sizes}
    t0, total = time.time(), 0.0
    for s in range(steps):
        done = max(s / steps, (time.time() - t0) / (until - (t0 - start)))
        if done >= 1:
            steps = s
            break
        how.rate(min(1, (s + 1) / 100) * (0.5 + 0.5 * np.cos(np.pi * done)) + 1e-3)
        size = sizes[s % len(sizes)]
        with torch.no_grad():
            kept = held[size]
            if s // len(sizes) % (again + 1) == 0 or not kept:
                x, y, soft = maker.batch(batch, size, soft_share)
                if again:
                    kept.append((x, y, soft))
                    del kept[:-24]
            else:
                x, y, soft = turned(kept[int(torch.randint(len(kept), (1,)))])
        total += how.step(x, y, soft)
        with torch.no_grad():
            k = min(0.998, (s + 1) / (s + 10))
            torch._foreach_mul_(means, k)
            torch._foreach_add_(means, lives, alpha=1 - k)
        if s % 500 == 499 or s == 20:
            say("step", s + 1, "loss %.4f" % (float(total) / (s + 1)), "%.1f/s" % ((s + 1) / (time.time() - t0)))
    live = net.state_dict()
    net.load_state_dict({k: (ema[k].to(live[k].dtype) if live[k].dtype.is_floating_point else live[k]) for k in live})
    net.eval()
    return steps


def spot(at, size):
    yy, xx = torch.meshgrid(torch.arange(size, device=dev).float(), torch.arange(size, device=dev).float(), indexing="ij")
    return torch.exp(-((yy - at[1]) ** 2 + (xx - at[0]) ** 2) / (2 * scenes.SPOT ** 2))


@torch.no_grad()
def judge(net, size, told):
    """Intersection over union of the petals, of each photo of the fold, in one look at the whole picture."""
    out = {}
    for i in test.tolist():
        x = F.interpolate(photos[i:i + 1].float() / 255, size=(2 * size, 2 * size), mode="bilinear", align_corners=False)
        x = F.avg_pool2d(x, 2)
        said = torch.zeros(1, 2, size, size, device=dev)
        if told:
            said[0, 0] = spot((points[i] + 0.5) * size / 227 - 0.5, size)
        pr = F.softmax(net(torch.cat([x - 0.5, said], 1)).float(), 1)
        pr = F.interpolate(pr, size=(454, 454), mode="bilinear", align_corners=False)[0]
        got, want = pr.argmax(0) == PETAL, labels[i] == PETAL
        out[names[i]] = float((got & want).sum() / (got | want).sum().clamp(min=1))
    return out


@torch.no_grad()
def look(net, x, at, size):
    """Probabilities, the mean over the picture and its mirror; at: a point each (n, 2), or None."""
    z = torch.zeros(len(x), 2, size, size, device=dev)
    if at is not None:
        i = torch.arange(size, device=dev).float()
        far = (i[None, :, None] - at[:, 1, None, None]) ** 2 + (i[None, None] - at[:, 0, None, None]) ** 2
        z[:, 0] = torch.exp(-far / (2 * scenes.SPOT ** 2))
    pr = 0
    for flip in (False, True):
        v = torch.cat([x, z], 1)
        with torch.autocast(dev.type, torch.bfloat16, enabled=dev.type == "cuda"):
            q = F.softmax(net(torch.flip(v, [3]) if flip else v).float(), 1)
        pr = pr + (torch.flip(q, [3]) if flip else q) / 2
    return pr


def top(v):
    """The likeliest place in v (n, h, w), over a few pixels: (n, 2), and how likely."""
    v = F.avg_pool2d(v[:, None], 7, 1, 3)[:, 0]
    best, at = v.flatten(1).max(1)
    return torch.stack([at % v.shape[2], at // v.shape[2]], 1).float(), best


def surety(pr):
    bloom = pr[:, 0] + pr[:, 1]
    m = (bloom > 0.5).float()
    iou = (bloom * m).flatten(1).sum(1) / (m + bloom * (1 - m)).flatten(1).sum(1).clamp(min=1)
    area = m.flatten(1).mean(1)
    return torch.where((area > 0.03) & (area < 0.85), iou, torch.zeros_like(iou))


class Both:
    """Batches of two makers, the second's share a.more."""

    def __init__(self, *makers):
        self.makers = makers

    def batch(self, b, size, soft_share):
        k = int(b * a.more)
        parts = [m.batch(n, size, soft_share) for m, n in zip(self.makers, (b - k, k))]
        return [None if v[0] is None else torch.cat(v) for v in zip(*parts)]


def maker_of(turn, shares=(0.38, 0.4)):
    m = scenes.Maker(dev, 1000 * a.seed + 10 * a.fold + turn, labelled, drawn, un, pseudo, shares)
    if not a.more:
        return m
    seed = 1000 * a.seed + 10 * a.fold + turn + 500
    return Both(m, scenes.Maker(dev, seed, more, drawn, torch.cat([un, moreun]), morepseudo, (0.5, 0.4)))


@torch.no_grad()
def label(net, size, un, few=4):
    """Photos that the teacher labels by itself: at a point on the bloom that it means and, where it sees another, at one on that.
    Those of which it is sure are kept, one in so few at the least."""
    probs, sure, of, plain = [], [], [], []
    for at in range(0, len(un), 64):
        x = F.interpolate(un[at:at + 64].float() / 255, size=(size, size), mode="bilinear", align_corners=False) - 0.5
        i = torch.arange(at, at + len(x), device=dev)
        alone = look(net, x, None, size)
        p, _ = top(alone[:, 0])
        told = look(net, x, p, size)
        a0, a1 = alone[:, 0] + alone[:, 1] > 0.5, told[:, 0] + told[:, 1] > 0.5
        same = (a0 & a1).flatten(1).sum(1) / (a0 | a1).flatten(1).sum(1).clamp(min=1)
        probs.append(told.half()), sure.append(surety(told)), of.append(i), plain.append(same > 0.85)
        p, most = top(told[:, 2])
        again = look(net, x, p, size)
        overlap = (torch.minimum(again[:, 0], told[:, 0]).flatten(1).sum(1) / again[:, 0].flatten(1).sum(1).clamp(min=1))
        v = torch.where((most > 0.6) & (overlap < 0.2), surety(again), torch.zeros_like(most))
        probs.append(again.half()), sure.append(v), of.append(i), plain.append(torch.zeros_like(v, dtype=torch.bool))
    probs, sure, of, plain = torch.cat(probs), torch.cat(sure), torch.cat(of), torch.cat(plain)
    keep = sure >= min(0.86, float(sure.sort().values[-min(len(sure), max(20, len(un) // few))]))
    pseudo = scenes.Pseudo(un, probs[keep], of[keep], plain[keep])
    say("kept of", len(un), "unlabelled", int(keep.sum()), "of which plain", int(plain[keep].sum()), "to be cut out", len(pseudo.cut))
    return pseudo


@torch.no_grad()
def part(net, pool, size):
    """Petals and discs of blooms whose labels do not part them, where net, given the bloom's widest place, is sure."""
    for at in range(0, len(pool.photos), 64):
        y = pool.labels[at:at + 64]
        either = y == BLOOM
        small = F.interpolate(either[:, None].float(), size=(size, size), mode="area")
        wide = F.avg_pool2d(F.avg_pool2d(small, 15, 1, 7), 15, 1, 7) * (small > 0.99)
        x = F.interpolate(pool.photos[at:at + 64].float() / 255, size=(size, size), mode="bilinear", align_corners=False) - 0.5
        pr = look(net, x, top(wide[:, 0])[0], size)
        pr = F.interpolate(pr, size=y.shape[1:], mode="bilinear", align_corners=False)
        own = pr[:, 0] + pr[:, 1]
        for k, least in ((PETAL, 0.9), (DISC, 0.8)):
            y[either & (own > 0.5) & (pr[:, k] > least * own)] = k
    say("shares of petals, discs and either", *("%.3f" % float((pool.labels == k).float().mean()) for k in (PETAL, DISC, BLOOM)))


def tell(name, r):
    if r:
        v = np.array(list(r.values()))
        say("%-24s median %.3f mean %.3f under 0.7: %d of %d" % (name, np.median(v), v.mean(), (v < 0.7).sum(), len(v)))


ts, ss = [int(v) for v in a.steps.split(",")]
B = 20 if a.smoke else a.batch
results = {}
finder = nets.Finder().to(dev)
if a.carried:
    finder.put_file(a.carried)
    finder.to(dev)
teacher = copy.deepcopy(finder).eval() if a.carried else nets.Teacher(np.load(os.path.join(a.data, "mnv2.npz"))).to(dev)
if a.resume:
    for net, name in ((teacher, "teacher"), (finder, "finder")):
        file = os.path.join(a.resume, "%s%d.npz" % (name, a.fold))
        if os.path.exists(file):
            z = np.load(file)
            net.load_state_dict({k[2:]: torch.tensor(z[k] * z["s:" + k[2:]][:, None, None, None] if k[0] == "q" else z[k])
                                 for k in z.keys() if k[0] != "s"})
            say("went on from", file)
guides, states = [], [copy.deepcopy(finder.state_dict())]
if a.carried:
    guides = [copy.deepcopy(finder).eval().requires_grad_(False)]
elif a.guided >= 0:
    def kept_as(file):
        z = np.load(file)
        return {k[2:]: torch.tensor(z[k] * z["s:" + k[2:]][:, None, None, None] if k[0] == "q" else z[k]) for k in z.keys() if k[0] != "s"}
    states = [kept_as(os.path.join(a.resume, "%s%d.npz" % (n, a.fold))) for n in (("finder",) if a.more else ("finder", "old"))]
    for v in states:
        g = nets.Finder().to(dev)
        g.load_state_dict(v)
        guides.append(g.eval().requires_grad_(False))
enc = [] if a.carried else teacher.encoder()
if guides and not a.carried:
    finder.load_state_dict({k: sum(v[k] for v in states) / len(states) if v.is_floating_point() else v for k, v in states[0].items()})
    say("guided, from the mean of the weights")
ids = {id(q) for q in enc}
rest = [q for q in teacher.parameters() if id(q) not in ids]
pseudo = morepseudo = None


def label_all(nets, size):
    return label(nets, size, un), label(nets, size, moreun, 10) if a.more else None


for turn, share in () if a.carried else ((1, 0.3),) if a.resume else ((0, 0.0), (1, 0.3)):
    if turn == 1:
        pseudo, morepseudo = label_all(teacher, 192)
    maker = maker_of(turn)
    k = 0.6 if turn else 1.0
    if ts:
        groups = [{"params": enc, "lr": 2e-4 * k}, {"params": rest, "lr": 1.5e-3 * k}]
        n = learn(teacher, groups, maker, ts if turn == 0 else ts * 2 // 3, B // 2, [192], share, a.teach)
        say("the teacher's steps", n)
    teacher.eval()
    for told in (True, False):
        key = "teacher %d %s" % (turn, "told" if told else "alone")
        results[key] = judge(teacher, 192, told)
        tell(key, results[key])
side = 144 if a.carried else 192
if ts or pseudo is None:
    pseudo, morepseudo = label_all(teacher, side)
if a.more:
    part(teacher, more, side)
os.makedirs(a.out, exist_ok=True)
if not a.carried:
    torch.save({k: v.half().cpu() for k, v in teacher.state_dict().items()}, os.path.join(a.out, "teacher%d.pt" % a.fold))
maker = maker_of(7, [float(v) for v in a.shares.split(",")])
groups = [{"params": list(finder.parameters()), "lr": 2.5e-3 * a.rate * (0.7 if a.resume else 1)}]
n = learn(finder, groups, maker, ss, B, [144, 112, 144, 96], a.soft, a.until, a.again)
say("the finder's steps", n)
if a.mean:
    before = {k: v.to(dev) for k, v in states[0].items()}
    finder.load_state_dict({k: a.mean * v + (1 - a.mean) * before[k] if v.is_floating_point() else v for k, v in finder.state_dict().items()})
torch.save({k: v.half().cpu() if v.is_floating_point() else v.cpu() for k, v in finder.state_dict().items()},
           os.path.join(a.out, "finder%d.pt" % a.fold))
finder.float()
for size in (96, 144):
    for told in (True, False):
        key = "finder at %d %s" % (size, "told" if told else "alone")
        results[key] = judge(finder, size, told)
        tell(key, results[key])
json.dump(results, open(os.path.join(a.out, "fold%d.json" % a.fold), "w"))
arrays = finder.arrays()
# What the folded, rounded weights give on kept inputs, for the program's own inference to be held against.
with torch.no_grad():
    g = torch.Generator().manual_seed(3)
    x = torch.zeros(2, 5, 48, 64)
    x[:, :3] = F.interpolate(torch.rand(2, 3, 6, 8, generator=g), size=(48, 64), mode="bilinear", align_corners=False) - 0.5
    x[1, 3] = torch.exp(-((torch.arange(48)[:, None] - 20.0) ** 2 + (torch.arange(64)[None] - 30.0) ** 2) / 12.5)
    x = x.half().float()
    cpu = nets.Finder()
    cpu.load_state_dict({k: v.float().cpu() for k, v in finder.state_dict().items()})
    cpu.eval()
    y = cpu(x)
np.savez(os.path.join(a.out, "fold%d.npz" % a.fold), kept_in=x.numpy().astype(np.float16), kept_out=y.numpy().astype(np.float32),
         **{"a%03d" % i: v.astype(np.float16) for i, v in enumerate(arrays)})
say("done", sum(v.size for v in arrays))
