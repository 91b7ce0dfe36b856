package petal

import (
	"math"
	"sync"
)

// drawing draws a head within a window of the map: the field of the pixels'
// odds, and the pieces that they make. Its buffers serve again.
type drawing struct {
	s              *scene
	x0, y0, x1, y1 int
	stride         int       // of prob: the window's width and a margin of one on either side
	prob           []float32 // with the margin: from -1, surely not bloom, to 1
	base           []float32 // without it: each pixel's own evidence
	weigh          []float32 // the palette's
	runs           []run
}

var drawings = sync.Pool{New: func() any { return new(drawing) }}

// newDrawing is a drawing whose buffers may have served before; give it back
// with done.
func newDrawing() *drawing { return drawings.Get().(*drawing) }

func (d *drawing) done() {
	d.s = nil // it holds the whole picture
	drawings.Put(d)
}

// run is a stretch of a row of the window, from a to before b.
type run struct {
	y, a, b int32
	up      int32 // a run of the same piece, itself for the first of it
	n       int32 // of the first: pixels near the middle, or of the hole
	open    bool  // of the first: reaches the window's rim
	sum     float64
}

// resized is v with n elements, of any value.
func resized[T any](v []T, n int) []T {
	if cap(v) < n {
		return make([]T, n)
	}
	return v[:n]
}

// field sets prob from each pixel's own evidence, its place, and its
// neighbours: a mean field of a grid whose links weaken across colour edges.
func (d *drawing) field(s *scene, logit []float64, x0, y0, x1, y1 int, h *head) {
	d.s, d.x0, d.y0, d.x1, d.y1 = s, x0, y0, x1, y1
	bw, bh := x1-x0, y1-y0
	d.stride = bw + 2
	d.prob, d.base = resized(d.prob, d.stride*(bh+2)), resized(d.base, bw*bh)
	d.weigh = d.weigh[:0]
	for _, v := range logit {
		d.weigh = append(d.weigh, float32(v))
	}
	clear(d.prob[:d.stride])
	clear(d.prob[d.stride*(bh+1):])
	for y := range bh {
		row := d.prob[(y+1)*d.stride : (y+2)*d.stride]
		row[0], row[bw+1] = 0, 0
		row = row[1 : bw+1]
		base := d.base[y*bw : (y+1)*bw][:len(row)]
		from := (y+y0)*s.w + x0
		label, skip := s.label[from:][:len(row)], s.skip[from:][:len(row)]
		dy := float64(y+y0) - h.y
		for x := range row {
			dx := float64(x+x0) - h.x
			away := float32(math.Sqrt(dx*dx+dy*dy) / h.r)
			b := d.weigh[label[x]] + min(max(1.6*(1.15-away), -3), 0.8)
			if skip[x] {
				b = -6
			}
			base[x], row[x] = b, tanh2(b)
		}
	}
	for range 3 {
		d.sweep()
	}
}

// abreast is how many rows a sweep takes at once.
const abreast = 4

// sweep lets every pixel follow its neighbours, from the top left to the bottom
// right. Each pixel waits for the one before it; so rows are taken side by
// side, each one column behind the row above, which changes nothing but the
// waiting.
func (d *drawing) sweep() {
	const coupling = 1.6
	s, bw, bh := d.s, d.x1-d.x0, d.y1-d.y0
	for y0 := 0; y0 < bh; y0 += abreast {
		n := min(abreast, bh-y0)
		for t := range bw + n - 1 {
			first, end := max(0, t-bw+1), min(n, t+1)
			x := t - first
			b := (y0+first)*bw + x
			p := (y0+first+1)*d.stride + x + 1
			i := (y0+first+d.y0)*s.w + d.x0 + x
			for range end - first {
				m := s.left[i]*d.prob[p-1] + s.right[i]*d.prob[p+1] + s.up[i]*d.prob[p-d.stride] + s.down[i]*d.prob[p+d.stride]
				d.prob[p] = tanh2(d.base[b] + coupling*m)
				b += bw - 1
				p += d.stride - 1
				i += s.w - 1
			}
		}
	}
}

// tanh2 is near tanh(v/2), by a ratio of polynomials.
func tanh2(v float32) float32 {
	if v > 6 {
		return 1
	}
	if v < -6 {
		return -1
	}
	q := v * v
	return v * (108 + q) / (216 + 18*q)
}

// leave takes the pixels for which out says so out of the field.
func (d *drawing) leave(out func(x, y int) bool) {
	for y := d.y0; y < d.y1; y++ {
		row := d.prob[(y-d.y0+1)*d.stride+1:]
		for x := d.x0; x < d.x1; x++ {
			if out(x, y) {
				row[x-d.x0] = -1
			}
		}
	}
}

// first is the first run of run i's piece.
func (d *drawing) first(i int32) int32 {
	for d.runs[i].up != i {
		d.runs[i].up = d.runs[d.runs[i].up].up
		i = d.runs[i].up
	}
	return i
}

// join makes one piece of those of the runs of row y, which begin at now, and
// those of the row above, which begin at last, that touch.
func (d *drawing) join(last, now int) {
	i := last
	for j := now; j < len(d.runs); j++ {
		for i < now && d.runs[i].b <= d.runs[j].a {
			i++
		}
		for k := i; k < now && d.runs[k].a < d.runs[j].b; k++ {
			if p, q := d.first(int32(k)), d.first(int32(j)); p != q {
				d.runs[max(p, q)].up = min(p, q)
			}
		}
	}
}

// connect sets mask to the likely pixels that hang together with the middle:
// the piece with most pixels near (cx, cy), holes filled, and pieces nearby
// that are a good part of it.
func (d *drawing) connect(mask []bool, logit []float64, cx, cy, r float64) bool {
	clear(mask)
	bw, bh := d.x1-d.x0, d.y1-d.y0
	d.runs = d.runs[:0]
	last := 0
	for y := range bh {
		row := d.prob[(y+1)*d.stride+1:][:bw]
		now := len(d.runs)
		for x := 0; x < len(row); x++ {
			if row[x] < 0 {
				continue
			}
			a := x
			for x < len(row) && row[x] >= 0 {
				x++
			}
			d.runs = append(d.runs, run{y: int32(y), a: int32(a), b: int32(x), up: int32(len(d.runs))})
		}
		d.join(last, now)
		last = now
	}
	var best int32
	for i := range d.runs {
		t := &d.runs[i]
		dy := float64(int(t.y)+d.y0) - cy
		half := 0.49*r*r - dy*dy
		if half <= 0 {
			continue
		}
		half = math.Sqrt(half)
		a, b := max(int(t.a), ceil(cx-half)-d.x0), min(int(t.b), int(math.Floor(cx+half))+1-d.x0)
		d.runs[d.first(int32(i))].n += int32(max(0, b-a))
	}
	for i := range d.runs {
		if t := &d.runs[i]; t.up == int32(i) && t.n > d.runs[best].n {
			best = int32(i)
		}
	}
	if len(d.runs) == 0 || d.runs[best].n == 0 {
		return false
	}
	most := d.runs[best].n
	for i := range d.runs {
		t := &d.runs[i]
		if d.runs[d.first(int32(i))].n*6 < most {
			continue
		}
		row := mask[(int(t.y)+d.y0)*d.s.w+d.x0:][t.a:t.b]
		for x := range row {
			row[x] = true
		}
	}
	d.fillHoles(mask, logit)
	return true
}

// fillHoles sets the holes of the mask, that is what the window's rim cannot
// reach without crossing it, but for those that show what lies behind the
// bloom.
func (d *drawing) fillHoles(mask []bool, logit []float64) {
	s := d.s
	bw, bh := d.x1-d.x0, d.y1-d.y0
	d.runs = d.runs[:0]
	last := 0
	for y := range bh {
		row := mask[(y+d.y0)*s.w+d.x0:][:bw]
		now := len(d.runs)
		for x := 0; x < len(row); x++ {
			if row[x] {
				continue
			}
			a := x
			for x < len(row) && !row[x] {
				x++
			}
			d.runs = append(d.runs, run{y: int32(y), a: int32(a), b: int32(x), up: int32(len(d.runs)),
				open: y == 0 || y == bh-1 || a == 0 || x == bw})
		}
		d.join(last, now)
		last = now
	}
	for i := range d.runs {
		if d.runs[i].open {
			d.runs[d.first(int32(i))].open = true
		}
	}
	for i := range d.runs {
		t := &d.runs[i]
		f := &d.runs[d.first(int32(i))]
		if f.open {
			continue
		}
		from := (int(t.y)+d.y0)*s.w + d.x0
		for x := from + int(t.a); x < from+int(t.b); x++ {
			f.open = f.open || s.skip[x]
			f.sum += logit[s.label[x]]
			f.n++
		}
	}
	for i := range d.runs {
		t := &d.runs[i]
		f := &d.runs[d.first(int32(i))]
		if f.open || f.n > 3 && f.sum < -float64(f.n) {
			continue
		}
		row := mask[(int(t.y)+d.y0)*s.w+d.x0:][t.a:t.b]
		for x := range row {
			row[x] = true
		}
	}
}
