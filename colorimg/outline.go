package colorimg

import (
	"image"
	"math"
)

// fullMask returns the working mask at the photo's full size.
func (m *measuring) fullMask(mask []uint8) *image.Gray {
	w, h := m.Size[0], m.Size[1]
	out := image.NewGray(image.Rect(0, 0, w, h))
	xs := make([]int, w)
	for x := range xs {
		xs[x] = clampInt(int(math.Round((float64(x)+0.5)/m.im.ScaleX-0.5)), m.im.W)
	}
	for y := range h {
		row := mask[clampInt(int(math.Round((float64(y)+0.5)/m.im.ScaleY-0.5)), m.im.H)*m.im.W:]
		dst := out.Pix[y*out.Stride:]
		for x, wx := range xs {
			dst[x] = row[wx]
		}
	}
	return out
}

func clampInt(v, n int) int { return max(0, min(n-1, v)) }

// outline returns the mask's edges as closed polygons in
// full-size pixels, simplified to a tolerance of about a pixel of the working
// picture; specks are left out.
func (m *measuring) outline(mask []uint8) [][]Point {
	w, h := m.im.W, m.im.H
	var out [][]Point
	for _, ring := range rings(mask, w, h) {
		if len(ring) < 16 {
			continue
		}
		ring = thin(ring, 0.9)
		if len(ring) < 3 {
			continue
		}
		poly := make([]Point, len(ring))
		for i, p := range ring {
			// Corner (x, y) lies between the pixels x-1 and x.
			poly[i] = m.toFull([2]float64{float64(p[0]) - 0.5, float64(p[1]) - 0.5})
		}
		out = append(out, poly)
	}
	return out
}

// rings returns the boundaries between set and unset pixels, as closed walks over
// pixel corners with the set pixels on the right. Every boundary edge belongs to
// exactly one ring.
func rings(mask []uint8, w, h int) [][][2]int {
	set := func(x, y int) bool { return x >= 0 && y >= 0 && x < w && y < h && mask[y*w+x] != 0 }
	// seen marks the top edges walked from left to right.
	seen := make([]bool, w*h)
	var out [][][2]int
	for i, m := range mask {
		if m == 0 || i >= w && mask[i-w] != 0 || seen[i] {
			continue
		}
		x, y := i%w, i/w
		var ring [][2]int
		px, py, dx, dy := x, y, 1, 0
		for {
			if dx == 1 {
				if seen[py*w+px] {
					break
				}
				seen[py*w+px] = true
			}
			ring = append(ring, [2]int{px, py})
			px, py = px+dx, py+dy
			switch {
			case !set(px+(dx-dy-1)/2, py+(dx+dy-1)/2): // ahead on the right: turn right, around the set pixel
				dx, dy = -dy, dx
			case set(px+(dx+dy-1)/2, py+(dy-dx-1)/2): // ahead on the left: turn left
				dx, dy = dy, -dx
			}
		}
		out = append(out, ring)
	}
	return out
}

// thin returns the ring without the points that lie within tol of the line between
// the ones kept.
//
// Source: Douglas and Peucker 1973, from memory.
func thin(ring [][2]int, tol float64) [][2]int {
	if len(ring) < 4 {
		return ring
	}
	// Split at the point farthest from the first.
	far, best := 0, -1
	for i, p := range ring {
		dx, dy := p[0]-ring[0][0], p[1]-ring[0][1]
		if d := dx*dx + dy*dy; d > best {
			best, far = d, i
		}
	}
	keep := make([]bool, len(ring)+1)
	at := func(i int) (float64, float64) { p := ring[i%len(ring)]; return float64(p[0]), float64(p[1]) }
	keep[0], keep[far], keep[len(ring)] = true, true, true
	stack := [][2]int{{0, far}, {far, len(ring)}}
	for len(stack) > 0 {
		a, b := stack[len(stack)-1][0], stack[len(stack)-1][1]
		stack = stack[:len(stack)-1]
		ax, ay := at(a)
		bx, by := at(b)
		l := math.Hypot(bx-ax, by-ay)
		worst, k := tol, -1
		for i := a + 1; i < b; i++ {
			x, y := at(i)
			d := math.Hypot(x-ax, y-ay)
			if l > 0 {
				d = math.Abs((bx-ax)*(y-ay)-(by-ay)*(x-ax)) / l
			}
			if d > worst {
				worst, k = d, i
			}
		}
		if k >= 0 {
			keep[k] = true
			stack = append(stack, [2]int{a, k}, [2]int{k, b})
		}
	}
	var out [][2]int
	for i, p := range ring {
		if keep[i] {
			out = append(out, p)
		}
	}
	return out
}
