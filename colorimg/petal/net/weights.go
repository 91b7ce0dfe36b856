package net

import (
	_ "embed"
	"encoding/binary"
	"errors"
	"math"
	"sync"
)

// finder holds the weights that learn/learn.py found and learn/export.py wrote, one network's after the
// other's, in the order of [reader.net].
//
//go:embed finder.weights
var finder []byte

// Finder is the networks that find petals.
var Finder = sync.OnceValue(func() Nets {
	n, err := read(finder)
	if err != nil {
		panic(err) // the program was built with other weights than its networks'
	}
	return n
})

// errWeights is returned for weights of another network.
var errWeights = errors.New("net: the weights are not those of this network")

// reader takes weights off the front of its bytes.
type reader struct{ rest []byte }

// finders is how many networks there are.
const finders = 2

// read builds the networks of the weights in b. It returns errWeights when there are
// more or fewer than the networks have.
func read(b []byte) (Nets, error) {
	r := &reader{rest: b}
	all := make(Nets, finders)
	for i := range all {
		all[i] = r.net()
	}
	if r.rest == nil || len(r.rest) != 0 {
		return nil, errWeights
	}
	return all, nil
}

func (r *reader) net() *network {
	n := &network{}
	n.stem = r.conv(4*Inputs, levels[0].channels, 3, false)
	for i, l := range levels {
		if i > 0 {
			n.into = append(n.into, r.conv(4*levels[i-1].channels, l.channels, 1, false))
		}
		n.down = append(n.down, r.blocks(l, l.down))
	}
	n.up, n.after = make([]conv, len(levels)-1), make([][]block, len(levels)-1)
	for i := len(levels) - 2; i >= 0; i-- {
		n.up[i] = r.conv(levels[i+1].channels, levels[i].channels, 1, false)
		n.after[i] = r.blocks(levels[i], levels[i].up)
	}
	n.head = r.conv(levels[0].channels, 4*Classes, 1, false)
	return n
}

func (r *reader) blocks(l level, n int) []block {
	out := make([]block, n)
	for i := range out {
		c := l.channels
		out[i] = block{r.conv(c, c, l.kernel, true), r.conv(c, c*l.wide, 1, false), r.conv(c*l.wide, c, 1, false)}
	}
	return out
}

// conv reads one convolution: a step for each channel that comes out, the weights in 8 bits as whole steps, the biases.
func (r *reader) conv(in, out, kernel int, depthwise bool) conv {
	each := in * kernel * kernel
	if depthwise {
		each = kernel * kernel
	}
	step, w := r.halves(out), make([]float32, out*each)
	for i, b := range r.bytes(len(w)) {
		w[i] = float32(int8(b)) * step[i/each]
	}
	return conv{in: in, out: out, kernel: kernel, w: w, b: r.halves(out)}
}

// bytes takes n bytes off; after too few of them rest is nil.
func (r *reader) bytes(n int) []byte {
	if len(r.rest) < n {
		r.rest = nil
		return make([]byte, n)
	}
	b := r.rest[:n]
	r.rest = r.rest[n:]
	return b
}

// halves reads n numbers of half precision (IEEE 754 binary16), little-endian.
func (r *reader) halves(n int) []float32 {
	out, b := make([]float32, n), r.bytes(2*n)
	for i := range out {
		out[i] = half(binary.LittleEndian.Uint16(b[2*i:]))
	}
	return out
}

// half is the number that a binary16 stands for.
func half(b uint16) float32 {
	sign, exp, frac := uint32(b>>15)<<31, uint32(b>>10&31), uint32(b&1023)
	switch exp {
	case 0:
		v := float32(frac) / (1 << 24)
		if sign != 0 {
			v = -v
		}
		return v
	case 31:
		return math.Float32frombits(sign | 0x7f800000 | frac<<13)
	}
	return math.Float32frombits(sign | (exp+112)<<23 | frac<<13)
}
