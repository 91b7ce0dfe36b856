#!/usr/bin/python3
"""Learns the petal finder. See README.md.

  learn.py --data DIR --out DIR [--fold K] [--steps T,S] [--smoke]

Fold K (0 to 4) leaves that fold's photos out and tests on them; 5 learns from all. Writes OUT/fold<K>.npz: the finder's
weights folded, half precision, and what it gave on a few kept inputs; OUT/fold<K>.json: how well it did.
"""
import argparse
import json
import os
import time

import numpy as np
import torch
import torch.nn.functional as F

import nets
import scenes
from scenes import DISC, NONE, OTHER, PETAL, REST, UNKNOWN

p = argparse.ArgumentParser()
p.add_argument("--data", default="data")
p.add_argument("--out", default="out")
p.add_argument("--fold", type=int, default=5)
p.add_argument("--steps", default="1400,5000")
p.add_argument("--seed", type=int, default=1)
p.add_argument("--smoke", action="store_true")
p.add_argument("--batch", type=int, default=64)
p.add_argument("--until", type=float, default=1e9, help="seconds after the start by which the finder is to be done")
p.add_argument("--resume", default="", help="a folder with teacher and finder of an earlier run, to go on from")
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
        un, d, dl, more = un[:40], d[:20], dl[:20], more[:20]
    dy = np.full(dl.shape, NONE, np.uint8)
    dy[more] = REST
    dy[dl == 255], dy[dl == 128] = PETAL, DISC
    return photos, y, torch.tensor(z["points"]).to(dev), names, train, test, scenes.picture(un, dev), scenes.Pool(scenes.picture(d, dev), torch.tensor(dy).to(dev))


photos, labels, points, names, train, test, un, drawn = load()
labelled = scenes.Pool(photos[train], labels[train])
say("data", len(train), len(test), len(un), len(drawn.photos))


def loss_of(logits, y, soft):
    lp = F.log_softmax(logits.float(), 1)
    b = len(y)
    rest = torch.logsumexp(lp[:, 2:], 1, keepdim=True)
    lp6 = torch.cat([lp, rest, torch.zeros_like(rest)], 1)
    hard = -lp6.gather(1, y[:, None])[:, 0]
    n = b - (0 if soft is None else len(soft))
    # Edges count more: that is where readings are lost.
    bloom = (y <= DISC).float()[:, None]
    edge = (F.max_pool2d(bloom, 5, 1, 2) - (-F.max_pool2d(-bloom, 5, 1, 2)))[:, 0]
    w = 1 + 1.5 * edge
    l = (hard[:n] * w[:n]).mean()
    if soft is not None:
        ce = -(soft * lp[n:]).sum(1)
        l = l * n / b + ce.mean() * (b - n) / b
    # Overlap of the petals, and of the whole bloom.
    pr = lp.exp()
    known = (y != UNKNOWN).float()
    for t, q in ((y == PETAL, pr[:, 0]), (y <= DISC, pr[:, 0] + pr[:, 1])):
        t = t.float()
        i = (q * t * known).flatten(1).sum(1)
        u = ((q + t - q * t) * known).flatten(1).sum(1)
        has = (t.flatten(1).sum(1) > 20).float()
        l = l + 0.5 * ((1 - (i + 1) / (u + 1)) * has).sum() / has.sum().clamp(min=1)
    return l


def learn(net, groups, maker, steps, batch, sizes, soft_share, until=1e9):
    """Trains net for so many steps, or until so many seconds after the start if that is sooner; returns the steps done."""
    opt = torch.optim.AdamW(groups, weight_decay=1e-3, **({"fused": True} if dev.type == "cuda" else {}))
    base = [g["lr"] for g in opt.param_groups]
    ema = {k: v.detach().clone().float() for k, v in net.state_dict().items()}
    net.train()
    t0, total = time.time(), 0.0
    for s in range(steps):
        done = max(s / steps, (time.time() - t0) / (until - (t0 - start)))
        if done >= 1:
            steps = s
            break
        f = min(1, (s + 1) / 100) * (0.5 + 0.5 * np.cos(np.pi * done)) + 1e-3
        for g, b in zip(opt.param_groups, base):
            g["lr"] = b * f
        size = sizes[s % len(sizes)]
        with torch.no_grad():
            x, y, soft = maker.batch(batch, size, soft_share)
        with torch.autocast(dev.type, torch.bfloat16, enabled=dev.type == "cuda"):
            out = net(x)
        l = loss_of(out, y, soft)
        opt.zero_grad(set_to_none=True)
        l.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        opt.step()
        total += l.detach()
        with torch.no_grad():
            k = min(0.998, (s + 1) / (s + 10))
            live = net.state_dict()
            fl = [key for key in ema if live[key].dtype.is_floating_point]
            torch._foreach_mul_([ema[key] for key in fl], k)
            torch._foreach_add_([ema[key] for key in fl], [live[key].float() for key in fl], alpha=1 - k)
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
def label(net, size):
    """The teacher's probabilities of the unlabelled photos, at half of size, and how sure it is of each."""
    probs, sure = [], []
    for at in range(0, len(un), 64):
        x = F.interpolate(un[at:at + 64].float() / 255, size=(size, size), mode="bilinear", align_corners=False) - 0.5
        z = torch.zeros(len(x), 2, size, size, device=dev)
        pr = 0
        for flip in (False, True):
            v = torch.flip(x, [3]) if flip else x
            with torch.autocast(dev.type, torch.bfloat16, enabled=dev.type == "cuda"):
                q = F.softmax(net(torch.cat([v, z], 1)).float(), 1)
            pr = pr + (torch.flip(q, [3]) if flip else q) / 2
        petal, bloom = pr[:, 0], pr[:, 0] + pr[:, 1]
        m = (bloom > 0.5).float()
        iou = (bloom * m).flatten(1).sum(1) / (m + bloom * (1 - m)).flatten(1).sum(1).clamp(min=1)
        area = m.flatten(1).mean(1)
        sure.append(torch.where((area > 0.03) & (area < 0.85), iou, torch.zeros_like(iou)))
        probs.append(F.avg_pool2d(pr, 2).half())
    return torch.cat(probs), torch.cat(sure)


def tell(name, r):
    if r:
        v = np.array(list(r.values()))
        say("%-24s median %.3f mean %.3f under 0.7: %d of %d" % (name, np.median(v), v.mean(), (v < 0.7).sum(), len(v)))


ts, ss = [int(v) for v in a.steps.split(",")]
B = 16 if a.smoke else a.batch
results = {}
teacher = nets.Teacher(np.load(os.path.join(a.data, "mnv2.npz"))).to(dev)
finder = nets.Finder().to(dev)
if a.resume:
    for net, name in ((teacher, "teacher"), (finder, "finder")):
        file = os.path.join(a.resume, "%s%d.npz" % (name, a.fold))
        if os.path.exists(file):
            z = np.load(file)
            net.load_state_dict({k[2:]: torch.tensor(z[k] * z["s:" + k[2:]][:, None, None, None] if k[0] == "q" else z[k])
                                 for k in z.keys() if k[0] != "s"})
            say("went on from", file)
enc = teacher.encoder()
ids = {id(q) for q in enc}
rest = [q for q in teacher.parameters() if id(q) not in ids]
pseudo = None
for turn, share in ((1, 0.3),) if a.resume else ((0, 0.0), (1, 0.3)):
    if turn == 1:
        probs, sure = label(teacher, 192)
        keep = sure >= min(0.86, float(sure.sort().values[-max(20, len(sure) // 4)]))  # the sure ones, a quarter at the least
        pseudo = scenes.Pseudo(un[keep], probs[keep])
        say("kept of the unlabelled", int(keep.sum()), "of", len(un))
    maker = scenes.Maker(dev, 1000 * a.seed + 10 * a.fold + turn, labelled, drawn, un, pseudo)
    k = 0.6 if turn else 1.0
    if ts:
        learn(teacher, [{"params": enc, "lr": 2e-4 * k}, {"params": rest, "lr": 1.5e-3 * k}], maker, ts if turn == 0 else ts * 2 // 3, B // 2, [192], share)
    teacher.eval()
    for told in (True, False):
        key = "teacher %d %s" % (turn, "told" if told else "alone")
        results[key] = judge(teacher, 192, told)
        tell(key, results[key])
probs, sure = label(teacher, 192)
keep = sure >= min(0.86, float(sure.sort().values[-max(20, len(sure) // 4)]))
pseudo = scenes.Pseudo(un[keep], probs[keep])
say("kept of the unlabelled", int(keep.sum()), "of", len(un))
os.makedirs(a.out, exist_ok=True)
torch.save({k: v.half().cpu() for k, v in teacher.state_dict().items()}, os.path.join(a.out, "teacher%d.pt" % a.fold))
maker = scenes.Maker(dev, 1000 * a.seed + 10 * a.fold + 7, labelled, drawn, un, pseudo)
n = learn(finder, [{"params": list(finder.parameters()), "lr": 2.5e-3}], maker, ss, B, [144, 112, 144, 96], 0.4, a.until)
say("the finder's steps", n)
torch.save({k: v.half().cpu() if v.is_floating_point() else v.cpu() for k, v in finder.state_dict().items()}, os.path.join(a.out, "finder%d.pt" % a.fold))
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
