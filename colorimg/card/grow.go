package card

import (
	"math"
	"sync"

	"hueward/colorimg/photo"
	"hueward/colorimg/rows"
	"hueward/colorimg/shape"
)

// A packed colour is red, green and blue on a roughly uniform lightness scale, 100 times the square root of linear light,
// in steps of 1/perUnit. Each has 16 bits, of which the highest is free, so that all three can be compared with bounds in
// one operation.
const (
	perUnit = 64
	largest = 1<<15 - 1
	free    = 1<<15 | 1<<31 | 1<<47 // the free bits
)

func pack(r, g, b float32) uint64 {
	at := func(v float32) uint64 { return uint64(min(max(v*perUnit+0.5, 0), largest)) }
	return at(r) | at(g)<<16 | at(b)<<32
}

func unpack(p uint64) [3]float32 {
	return [3]float32{float32(p & largest), float32(p >> 16 & largest), float32(p >> 32 & largest)}
}

// bounds are a lowest and a highest packed colour, both included.
type bounds struct{ lo, hi uint64 }

// around returns the bounds of colours that differ by less than t, on the lightness scale, from m, in packed steps.
func around(m [3]float32, t float32) bounds {
	var b bounds
	for c := range 3 {
		lo := min(max(math.Floor(float64(m[c]-t*perUnit))+1, 0), largest)
		hi := min(max(math.Ceil(float64(m[c]+t*perUnit))-1, 0), largest)
		b.lo |= uint64(lo) << (16 * c)
		b.hi |= uint64(hi) << (16 * c)
	}
	b.hi |= free
	return b
}

// hold reports whether p lies within the bounds: each subtraction borrows from a free bit where a channel is outside.
func (b *bounds) hold(p uint64) bool { return ((p|free)-b.lo)&(b.hi-p)&free == free }

// grower grows areas in a picture made by lightness, and marks the pixels that are in one.
type grower struct {
	w, h  int
	f     []uint64 // packed colours, w × h
	mark  []bool   // grown already
	stack []span
	area  area
}

// span is a run of grown pixels whose neighbours above and below are still to be examined.
type span struct{ y, x0, x1 int32 } // x1 is the last

// area is one grown area: its pixel count and, row by row, how far it reaches.
type area struct {
	n, x0, y0, x1, y1 int
	left, right       []int32 // index y; rows outside y0 to y1 are w, -1
}

func newGrower(w, h int, f []uint64) *grower {
	return &grower{w: w, h: h, f: f, mark: make([]bool, w*h), area: area{y1: h - 1, left: make([]int32, h), right: make([]int32, h)}}
}

// rim is the distance from the picture's edge, in pixels, within which an area counts as cut off by it.
const rim = 2

// cross is the pixels around a seed that must have its colour.
var cross = [...][2]int{{0, 0}, {3, 0}, {-3, 0}, {0, 3}, {0, -3}}

// grow collects the area around the seed whose colour stays within t of the seed's. It reports false when the seed is
// not on an even place, already grown over, or the area is too small, too large or at the frame's edge.
func (g *grower) grow(sx, sy int, t float32) bool {
	w, h := g.w, g.h
	if sx < 4 || sy < 4 || sx >= w-4 || sy >= h-4 || g.mark[sy*w+sx] {
		return false
	}
	var m [3]float32
	for _, d := range cross {
		p := unpack(g.f[(sy+d[1])*w+sx+d[0]])
		for c := range 3 {
			m[c] += p[c] / 5
		}
	}
	near := around(m, t)
	for _, d := range cross {
		if !near.hold(g.f[(sy+d[1])*w+sx+d[0]]) {
			return false
		}
	}
	edge := g.flood(sx, sy, near)
	a := &g.area
	if edge || a.n > int(0.14*float64(w)*float64(w)) || a.n < int(max(60, 0.0004*float64(w)*float64(w))) {
		return false
	}
	a.x0, a.x1 = w, 0
	for y := a.y0; y <= a.y1; y++ {
		a.x0, a.x1 = min(a.x0, int(a.left[y])), max(a.x1, int(a.right[y]))
	}
	bw, bh := a.x1-a.x0+1, a.y1-a.y0+1
	return float64(a.n) > 0.3*float64(bw*bh) && max(bw, bh) < w/2
}

// flood marks the area around the seed and counts it, run by run. It reports whether the area reaches the rim.
func (g *grower) flood(sx, sy int, near bounds) (edge bool) {
	a := &g.area
	for y := a.y0; y <= a.y1; y++ { // clear the rows of the last area
		a.left[y], a.right[y] = int32(g.w), -1
	}
	a.n, a.y0, a.y1 = 0, sy, sy
	g.stack = g.stack[:0]
	edge = g.run(sx, sy, near)
	for len(g.stack) > 0 {
		s := g.stack[len(g.stack)-1]
		g.stack = g.stack[:len(g.stack)-1]
		for _, y := range [...]int{int(s.y) - 1, int(s.y) + 1} {
			out := y < rim || y >= g.h-rim
			f, mark := g.f[y*g.w:(y+1)*g.w], g.mark[y*g.w:(y+1)*g.w]
			for x := int(s.x0); x <= int(s.x1); x++ {
				if mark[x] || !near.hold(f[x]) {
					continue
				}
				if out {
					edge = true
					break
				}
				if g.run(x, y, near) {
					edge = true
				}
				for x < int(s.x1) && mark[x+1] {
					x++
				}
			}
		}
	}
	return edge
}

// run marks the run through (x, y), and reports whether it reaches the rim.
func (g *grower) run(x, y int, near bounds) (edge bool) {
	f, mark := g.f[y*g.w:(y+1)*g.w], g.mark[y*g.w:(y+1)*g.w]
	x0, x1 := x, x
	for x0 > 0 && !mark[x0-1] && near.hold(f[x0-1]) {
		x0--
	}
	for x1+1 < len(f) && !mark[x1+1] && near.hold(f[x1+1]) {
		x1++
	}
	if x0 < rim || x1 >= g.w-rim {
		edge = true
		x0, x1 = max(x0, rim), min(x1, g.w-rim-1)
	}
	for i := x0; i <= x1; i++ {
		mark[i] = true
	}
	a := &g.area
	a.n += x1 - x0 + 1
	a.left[y], a.right[y] = min(a.left[y], int32(x0)), max(a.right[y], int32(x1))
	a.y0, a.y1 = min(a.y0, y), max(a.y1, y)
	g.stack = append(g.stack, span{int32(y), int32(x0), int32(x1)})
	return edge
}

// full returns the number of pixels of the area with each row filled from left to right.
func (a *area) full() int {
	n := 0
	for y := a.y0; y <= a.y1; y++ {
		if a.right[y] >= 0 {
			n += int(a.right[y]-a.left[y]) + 1
		}
	}
	return n
}

// outline returns the convex hull of the area.
func (a *area) outline() [][2]float64 {
	return shape.RowHull(a.y0, a.y1+1, func(y int) (int, int) { return int(a.left[y]), int(a.right[y]) })
}

// lightness returns the picture in packed colours, smoothed by a 3 × 3 mean; edge pixels are repeated.
func lightness(im *photo.Linear) []uint64 {
	w, h := im.W, im.H
	buf := sums.Get().(*[]float32)
	defer sums.Put(buf)
	if cap(*buf) < len(im.Pix) {
		*buf = make([]float32, len(im.Pix))
	}
	sum3, f := (*buf)[:len(im.Pix)], make([]uint64, w*h)
	rows.Split(h, func(y0, y1 int) { // the sum of three along each row
		root := make([]float32, 3*(w+2))
		for y := y0; y < y1; y++ {
			for i, v := range im.Pix[3*y*w : 3*(y+1)*w] {
				root[i+3] = float32(math.Sqrt(float64(max(v, 0))))
			}
			copy(root, root[3:6])
			copy(root[3*(w+1):], root[3*w:3*(w+1)])
			out := sum3[3*y*w : 3*(y+1)*w]
			b, c := root[3:][:len(out)], root[6:][:len(out)]
			for i := range out {
				out[i] = root[i] + b[i] + c[i]
			}
		}
	})
	rows.Split(h, func(y0, y1 int) { // and down each column
		for y := y0; y < y1; y++ {
			up, mid, low := sum3[3*max(y-1, 0)*w:], sum3[3*y*w:], sum3[3*min(y+1, h-1)*w:]
			out := f[y*w : (y+1)*w]
			for x := range out {
				u, m, l := up[3*x:3*x+3], mid[3*x:3*x+3], low[3*x:3*x+3]
				out[x] = pack((u[0]+m[0]+l[0])*(100./9), (u[1]+m[1]+l[1])*(100./9), (u[2]+m[2]+l[2])*(100./9))
			}
		}
	})
	return f
}

// sums holds buffers of lightness for reuse.
var sums = sync.Pool{New: func() any { return new([]float32) }}
