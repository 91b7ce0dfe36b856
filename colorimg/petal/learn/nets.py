"""The two networks: the finder, small, which hueward carries, and the teacher, which labels photos for it.

Both take a batch of shape (n, 5, h, w), h and w multiples of 16 (finder) or 32 (teacher): red, green, blue, encoded as sRGB,
less 0.5; where the bloom was said to be, 0 to 1; where it was said not to be. Both give logits of shape (n, 4, h, w): petal of
the meant bloom, its disc, another bloom, none of these.
"""
import numpy as np
import torch
import torch.nn as nn
import torch.nn.functional as F

INPUTS, CLASSES = 5, 4


class ConvBN(nn.Module):
    """A convolution without bias and a batch norm, which fold into one convolution with bias."""

    def __init__(self, ci, co, k=1, groups=1, stride=1, gamma=1.0):
        super().__init__()
        self.conv = nn.Conv2d(ci, co, k, stride=stride, padding=k // 2, groups=groups, bias=False)
        self.bn = nn.BatchNorm2d(co)
        nn.init.constant_(self.bn.weight, gamma)

    def forward(self, x):
        return self.bn(self.conv(x))

    def folded(self):
        """Weight and bias, float32, of the one convolution."""
        k = (self.bn.weight / torch.sqrt(self.bn.running_var + self.bn.eps)).detach()
        w = self.conv.weight.detach() * k[:, None, None, None]
        b = self.bn.bias.detach() - self.bn.running_mean * k
        return w.float().cpu().numpy(), b.float().cpu().numpy()


class Block(nn.Module):
    """x + narrow(relu(widen(depthwise(x))))."""

    def __init__(self, c, k, wide):
        super().__init__()
        self.dw = ConvBN(c, c, k, groups=c)
        self.wide = ConvBN(c, c * wide)
        self.narrow = ConvBN(c * wide, c, gamma=0.3)

    def forward(self, x):
        return x + self.narrow(F.relu(self.wide(self.dw(x))))


# Channels, blocks on the way down, on the way up, size of the depthwise kernel, widening, by level (1/2 to 1/16).
LEVELS = ((20, 1, 1, 3, 2), (40, 2, 1, 5, 3), (80, 3, 1, 5, 3), (160, 4, 0, 5, 3))


class Finder(nn.Module):
    def __init__(self, levels=LEVELS):
        super().__init__()
        self.levels = levels
        c0 = levels[0][0]
        self.stem = ConvBN(INPUTS * 4, c0, 3)
        self.down, self.up, self.blocks, self.after = nn.ModuleList(), nn.ModuleList(), nn.ModuleList(), nn.ModuleList()
        for i, (c, n, m, k, wide) in enumerate(levels):
            if i:
                before = levels[i - 1][0]
                self.down.append(ConvBN(before * 4, c))
                self.up.append(ConvBN(c, before))
            self.blocks.append(nn.Sequential(*[Block(c, k, wide) for _ in range(n)]))
            self.after.append(nn.Sequential(*[Block(c, k, wide) for _ in range(m)]))
        self.head = nn.Conv2d(c0, CLASSES * 4, 1)

    def forward(self, x):
        x = F.relu(self.stem(F.pixel_unshuffle(x, 2)))
        skips = []
        for i in range(len(self.levels)):
            if i:
                x = self.down[i - 1](F.pixel_unshuffle(x, 2))
            x = self.blocks[i](x)
            skips.append(x)
        for i in range(len(self.levels) - 2, -1, -1):
            x = skips[i] + F.interpolate(self.up[i](x), scale_factor=2, mode="bilinear", align_corners=False)
            x = self.after[i](x)
        return F.pixel_shuffle(self.head(x), 2)

    def arrays(self):
        """Weights and biases in the order in which weights.go reads them."""
        out = []
        add = lambda m: out.extend(m.folded())
        add(self.stem)
        for i in range(len(self.levels)):
            if i:
                add(self.down[i - 1])
            for b in self.blocks[i]:
                add(b.dw), add(b.wide), add(b.narrow)
        for i in range(len(self.levels) - 2, -1, -1):
            add(self.up[i])
            for b in self.after[i]:
                add(b.dw), add(b.wide), add(b.narrow)
        out.extend([self.head.weight.detach().float().cpu().numpy(), self.head.bias.detach().float().cpu().numpy()])
        return out

    def put(self, arrays):
        """Takes weights and biases as arrays gives them; a batch norm then only adds the bias."""
        it = iter(arrays)
        num = lambda like: torch.tensor(np.asarray(next(it), np.float32)).reshape(like.shape)

        def put(m):
            m.conv.weight.data = num(m.conv.weight)
            m.bn.bias.data = num(m.bn.bias)
            m.bn.weight.data = torch.ones_like(m.bn.bias)
            m.bn.running_mean = torch.zeros_like(m.bn.bias)
            m.bn.running_var = torch.full_like(m.bn.bias, 1 - m.bn.eps)

        def block(b):
            put(b.dw), put(b.wide), put(b.narrow)

        put(self.stem)
        for i in range(len(self.levels)):
            if i:
                put(self.down[i - 1])
            for b in self.blocks[i]:
                block(b)
        for i in range(len(self.levels) - 2, -1, -1):
            put(self.up[i])
            for b in self.after[i]:
                block(b)
        self.head.weight.data, self.head.bias.data = num(self.head.weight), num(self.head.bias)

    def put_file(self, path):
        """Takes weights as hueward carries them."""
        flat, at, arrays = np.frombuffer(open(path, "rb").read(), "<f2"), 0, []
        for a in self.arrays():
            arrays.append(flat[at:at + a.size].reshape(a.shape))
            at += a.size
        assert at == len(flat), "the weights are not those of this network"
        self.put(arrays)


class Conv6(nn.Module):
    """A convolution with bias and a ReLU cut off at 6, as MobileNetV2 has them once its batch norms are folded."""

    def __init__(self, w, b, stride, act):
        super().__init__()
        w = torch.tensor(np.asarray(w, np.float32))
        groups = w.shape[0] if w.shape[1] == 1 and w.shape[2] == 3 else 1
        self.c = nn.Conv2d(w.shape[1] * groups, w.shape[0], w.shape[2], stride=stride, padding=0, groups=groups)
        self.c.weight.data.copy_(w)
        self.c.bias.data.copy_(torch.tensor(np.asarray(b, np.float32)))
        self.act, self.stride = act, stride

    def forward(self, x):
        if self.c.kernel_size[0] == 3:
            # TensorFlow's SAME: with stride 2 and an even size, the row and column are added at the end.
            x = F.pad(x, (0, 1, 0, 1) if self.stride == 2 else (1, 1, 1, 1))
        x = self.c(x)
        return F.relu6(x) if self.act else x


class Teacher(nn.Module):
    """A U-Net on MobileNetV2 (Sandler and others 2018), whose encoder starts from weights learnt on ImageNet."""

    def __init__(self, mnv2):
        super().__init__()
        convs = [(mnv2["w%d" % i], mnv2["b%d" % i], int(mnv2["t%d" % i])) for i in range(sum(k[0] == "w" for k in mnv2.keys()))]
        strides = {1: 1, 2: 2, 3: 1, 4: 2, 5: 1, 6: 1, 7: 2, 8: 1, 9: 1, 10: 1, 11: 1, 12: 1, 13: 1, 14: 2, 15: 1, 16: 1, 17: 1}
        self.first = Conv6(convs[0][0], convs[0][1], 2, True)
        self.said = nn.Conv2d(2, 32, 3, stride=2, padding=1, bias=False)
        nn.init.normal_(self.said.weight, std=0.02)
        self.stages = nn.ModuleList()
        at = 1
        for b in range(1, 18):
            n = 2 if b == 1 else 3
            layers = []
            for j in range(n):
                w, bias, kind = convs[at + j]
                layers.append(Conv6(w, bias, strides[b] if kind == 4 else 1, j < n - 1))
            at += n
            self.stages.append(nn.Sequential(*layers))
        self.deep = nn.Conv2d(2, 96, 1, bias=False)
        nn.init.normal_(self.deep.weight, std=0.02)
        chans = {1: 16, 3: 24, 6: 32, 13: 96}
        self.top = nn.Sequential(nn.Conv2d(320, 128, 1, bias=False), nn.BatchNorm2d(128), nn.ReLU())

        def dec(ci, co):
            return nn.Sequential(nn.Conv2d(ci, co, 3, padding=1, bias=False), nn.BatchNorm2d(co), nn.ReLU(),
                                 nn.Conv2d(co, co, 3, padding=1, bias=False), nn.BatchNorm2d(co), nn.ReLU())
        self.d4, self.d3, self.d2, self.d1 = dec(128 + 96, 128), dec(128 + 32, 96), dec(96 + 24, 64), dec(64 + 16, 48)
        self.d0 = nn.Sequential(nn.Conv2d(48 + INPUTS, 32, 3, padding=1, bias=False), nn.BatchNorm2d(32), nn.ReLU(), nn.Conv2d(32, CLASSES, 1))

    def encoder(self):
        return list(self.first.parameters()) + list(self.stages.parameters())

    def forward(self, x):
        up = lambda v: F.interpolate(v, scale_factor=2, mode="bilinear", align_corners=False)
        said = x[:, 3:]
        f = self.first.c(F.pad(x[:, :3] * 2, (0, 1, 0, 1)))
        h = F.relu6(f + self.said(said))
        skips = {}
        for b, stage in enumerate(self.stages, 1):
            y = stage(h)
            h = h + y if y.shape == h.shape else y
            if b == 11:
                h = h + self.deep(F.adaptive_max_pool2d(said, h.shape[-2:]))
            if b in (1, 3, 6, 13):
                skips[b] = h
        h = self.d4(torch.cat([up(self.top(h)), skips[13]], 1))
        h = self.d3(torch.cat([up(h), skips[6]], 1))
        h = self.d2(torch.cat([up(h), skips[3]], 1))
        h = self.d1(torch.cat([up(h), skips[1]], 1))
        return self.d0(torch.cat([up(h), x], 1))


def macs(levels, h, w):
    """Multiplications and additions of the finder on a picture of h by w."""
    n = [h * w // 4 ** (i + 1) for i in range(len(levels))]
    t = n[0] * INPUTS * 4 * 9 * levels[0][0] + n[0] * levels[0][0] * CLASSES * 4
    for i, (c, a, b, k, wide) in enumerate(levels):
        t += (a + b) * n[i] * (k * k * c + 2 * c * c * wide)
        if i:
            t += n[i] * levels[i - 1][0] * (4 * c + c)
    return t


if __name__ == "__main__":
    f = Finder()
    print("finder: %.2f M weights, %.0f M at 144, %.0f M at 96" % (sum(a.size for a in f.arrays()) / 1e6, macs(LEVELS, 144, 144) / 1e6, macs(LEVELS, 96, 96) / 1e6))
