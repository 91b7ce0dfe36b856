package net

import (
	_ "embed"
	"encoding/binary"
	"errors"
	"math"
	"sync"
)

// finder holds the weights that learn/learn.py trained and learn/export.py wrote: half
// precision (IEEE 754 binary16), little-endian, in the order in which read reads them.
//
//go:embed finder.weights
var finder []byte

// Finder returns the network that finds petals.
var Finder = sync.OnceValue(func() *Net {
	n, err := read(finder)
	if err != nil {
		panic(err) // the weights were built into the program, and do not fit its network
	}
	return n
})

// Use makes [Finder] return the network with other weights, for learn/judge. It must be called
// before Finder is. It returns an error for weights that do not fit the network.
func Use(weights []byte) error {
	_, err := read(weights)
	finder = weights
	return err
}

// errWeights is returned for weights that do not fit the network.
var errWeights = errors.New("net: the weights are not those of this network")

// reader reads weights from the front of rest.
type reader struct{ rest []byte }

// read returns the network with the weights in b, or errWeights where there are more or fewer
// than the network has.
func read(b []byte) (*Net, error) {
	r := &reader{rest: b}
	n := &Net{}
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
	if r.rest == nil || len(r.rest) != 0 {
		return nil, errWeights
	}
	return n, nil
}

// blocks reads n blocks of a level.
func (r *reader) blocks(l level, n int) []block {
	out := make([]block, n)
	for i := range out {
		c := l.channels
		out[i] = block{r.conv(c, c, l.kernel, true), r.conv(c, c*l.wide, 1, false), r.conv(c*l.wide, c, 1, false)}
	}
	return out
}

// conv reads the weights, then the biases, of one convolution.
func (r *reader) conv(in, out, kernel int, depthwise bool) conv {
	each := in * kernel * kernel
	if depthwise {
		each = kernel * kernel
	}
	return conv{in: in, out: out, kernel: kernel, w: r.numbers(out * each), b: r.numbers(out)}
}

// numbers reads n numbers; where there are too few left, it sets rest to nil.
func (r *reader) numbers(n int) []float32 {
	out := make([]float32, n)
	if len(r.rest) < 2*n {
		r.rest = nil
		return out
	}
	for i := range out {
		out[i] = half(binary.LittleEndian.Uint16(r.rest[2*i:]))
	}
	r.rest = r.rest[2*n:]
	return out
}

// half returns the value of a binary16.
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
