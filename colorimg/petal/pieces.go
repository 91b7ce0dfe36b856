package petal

import (
	"math"

	"hueward/colorimg/petal/net"
)

// pieces returns for each pixel the number of its connected component of v ≥ 0.5, from 1; 0: none.
func pieces(v []float32, w, h int) []int32 {
	out := make([]int32, len(v))
	next := int32(0)
	var todo []int
	for i := range v {
		if v[i] < 0.5 || out[i] != 0 {
			continue
		}
		next++
		out[i] = next
		todo = append(todo[:0], i)
		for len(todo) > 0 {
			k := todo[len(todo)-1]
			todo = todo[:len(todo)-1]
			x, y := k%w, k/w
			for yy := max(0, y-1); yy <= min(h-1, y+1); yy++ {
				for xx := max(0, x-1); xx <= min(w-1, x+1); xx++ {
					if j := yy*w + xx; out[j] == 0 && v[j] >= 0.5 {
						out[j] = next
						todo = append(todo, j)
					}
				}
			}
		}
	}
	return out
}

// smoothed returns the box mean of v over reach pixels either way, with zeros beyond the edge.
func smoothed(v []float32, w, h, reach int) []float32 {
	run := func(v, out []float32, n, step int) {
		sum := 0.0
		for i := range n + reach {
			if i < n {
				sum += float64(v[i*step])
			}
			if before := i - 2*reach - 1; before >= 0 {
				sum -= float64(v[before*step])
			}
			if i >= reach {
				out[(i-reach)*step] = float32(sum / float64(2*reach+1))
			}
		}
	}
	across, both := make([]float32, len(v)), make([]float32, len(v))
	for y := range h {
		run(v[y*w:], across[y*w:], w, 1)
	}
	for x := range w {
		run(across[x:], both[x:], h, w)
	}
	return both
}

// sizes returns the sum of a weight over the pixels of each piece; that of pixels in no piece comes first.
func sizes(piece []int32, weight func(i int) float64) []float64 {
	out := []float64{0}
	for i, k := range piece {
		for int(k) >= len(out) {
			out = append(out, 0)
		}
		out[k] += weight(i)
	}
	return out
}

// Two discs belong to two blooms if each has a radius of at least leastDisc, in pixels of the view, and their centres are
// farther apart than discsApart times the sum of their radii. Nearer ones are one disc behind petals. Our own choice.
const (
	leastDisc  = 6.0
	discsApart = 1.8
)

// oneDisc assigns pixels to another bloom where they lie nearer to its disc than to the disc of the bloom at a
// working pixel, measured in radii of the discs, as a bloom has only one disc.
func (p *chances) oneDisc(at [2]float64) {
	piece := pieces(p.p[net.Disc], p.w, p.h)
	n, mx := sizes(piece, func(int) float64 { return 1 }), sizes(piece, func(i int) float64 { return float64(i % p.w) })
	my := sizes(piece, func(i int) float64 { return float64(i / p.w) })
	radius := func(k int) float64 { return math.Sqrt(n[k] / math.Pi) }
	far := func(k int, x, y float64) float64 { return distance(x-mx[k]/n[k], y-my[k]/n[k]) / radius(k) }
	x, y := p.toView(at[0], at[1])
	own := 0
	for k := range n {
		if k > 0 && radius(k) >= leastDisc && (own == 0 || far(k, x, y) < far(own, x, y)) {
			own = k
		}
	}
	for k := range n {
		if k == 0 || own == 0 || radius(k) < leastDisc || far(k, mx[own]/n[own], my[own]/n[own])*radius(k) < discsApart*(radius(k)+radius(own)) {
			continue
		}
		for i := range piece {
			if u, v := float64(i%p.w), float64(i/p.w); far(k, u, v) < far(own, u, v) {
				p.p[net.Other][i] += p.p[net.Petal][i] + p.p[net.Disc][i]
				p.p[net.Petal][i], p.p[net.Disc][i] = 0, 0
			}
		}
	}
}
