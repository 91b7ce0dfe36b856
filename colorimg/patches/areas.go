package patches

import (
	"math"
	"slices"

	"hueward/colorimg/photo"
)

// spot is an even area of the picture that may be a patch.
type spot struct {
	x, y float64 // middle
	size float64 // square root of its area
}

// The largest differences from an area's first colour, in units of 100 times the square root of linear light. All are tried:
// patches of nearly the colour of their surroundings need the smallest, noisy ones the largest.
var steps = []float32{2.5, 4.5, 8}

const seedStep = 4

// spots returns the even areas of the picture that are as compact as a square,
// without overlaps. No source: our own method.
func spots(im *photo.Linear) []spot {
	f := roots(im)
	mark := make([]uint8, im.W*im.H)
	var out []spot
	var stack []int32
	for k, step := range steps {
		for y := seedStep; y < im.H-seedStep; y += seedStep {
			for x := seedStep; x < im.W-seedStep; x += seedStep {
				if mark[y*im.W+x] > uint8(k) {
					continue
				}
				var s spot
				var ok bool
				s, stack, ok = grow(im, f, mark, uint8(k+1), stack, x, y, step)
				if ok && !slices.ContainsFunc(out, func(o spot) bool { return math.Hypot(o.x-s.x, o.y-s.y) < 0.5*max(o.size, s.size) }) {
					out = append(out, s)
				}
			}
		}
	}
	return out
}

// roots returns the picture on a roughly uniform lightness scale, smoothed by a 3 × 3 mean.
func roots(im *photo.Linear) []float32 {
	w, h := im.W, im.H
	root := make([]float32, len(im.Pix))
	for i, v := range im.Pix {
		root[i] = 100 * float32(math.Sqrt(float64(max(v, 0))))
	}
	mean := func(v []float32, dx, dy int) []float32 { // of three along dx, dy
		out := make([]float32, len(v))
		for i := range out {
			x, y, c := i/3%w, i/3/w, i%3
			a := 3*(max(y-dy, 0)*w+max(x-dx, 0)) + c
			b := 3*(min(y+dy, h-1)*w+min(x+dx, w-1)) + c
			out[i] = (v[a] + v[i] + v[b]) / 3
		}
		return out
	}
	return mean(mean(root, 1, 0), 0, 1)
}

// grow collects the area around the seed whose colour is within step of the seed's; ok says that it may be a patch.
func grow(im *photo.Linear, f []float32, mark []uint8, m uint8, stack []int32, sx, sy int, step float32) (s spot, _ []int32, ok bool) {
	w, h := im.W, im.H
	start := sy*w + sx
	seed := [3]float32{f[3*start], f[3*start+1], f[3*start+2]}
	near := func(i int) bool {
		for c := range 3 {
			if d := f[3*i+c] - seed[c]; d > step || d < -step {
				return false
			}
		}
		return true
	}
	most := w * h / 12
	var n, sumX, sumY, sumR float64
	edge := false
	mark[start] = m
	stack = append(stack[:0], int32(start))
	for len(stack) > 0 {
		i := int(stack[len(stack)-1])
		stack = stack[:len(stack)-1]
		x, y := i%w, i/w
		fx, fy := float64(x-sx), float64(y-sy)
		n, sumX, sumY, sumR = n+1, sumX+fx, sumY+fy, sumR+fx*fx+fy*fy
		if x == 0 || y == 0 || x == w-1 || y == h-1 {
			edge = true
			continue
		}
		for _, j := range [...]int{i - 1, i + 1, i - w, i + w} {
			if mark[j] < m && near(j) {
				mark[j] = m
				stack = append(stack, int32(j))
			}
		}
	}
	if edge || n < 40 || int(n) > most {
		return s, stack, false
	}
	mx, my := sumX/n, sumY/n
	// The mean square distance from the middle is a sixth of the area for a
	// square, 0.208 of it for a rectangle of 2 : 1, and more for ragged areas.
	spread := (sumR/n - mx*mx - my*my) / n
	return spot{float64(sx) + mx, float64(sy) + my, math.Sqrt(n)}, stack, spread < 0.26
}
