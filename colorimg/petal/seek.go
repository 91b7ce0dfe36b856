package petal

import (
	"cmp"
	"math"
	"slices"
)

// spot is a place and size at which a bloom may sit.
type spot struct{ x, y, r, s float64 }

// spots lists where something stands out from the frame's rim and from what
// is around it, best first, none of them twice.
func (s *scene) spots(sal []float64, most int) []spot {
	stands := s.boxes(func(i int) float64 { return sal[i] })
	detail := s.boxes(func(i int) float64 { return float64(s.detail[i]) })
	allDetail, allPixels := detail(float64(s.w)/2, float64(s.h)/2, float64(max(s.w, s.h)))
	var all []spot
	short := float64(min(s.w, s.h))
	for r := 0.06 * short; r < 0.6*short; r *= 1.3 {
		step, size := max(2, r/4), math.Pow(r/short, 0.4)
		for y := r * 0.4; y < float64(s.h)-r*0.4; y += step {
			for x := r * 0.4; x < float64(s.w)-r*0.4; x += step {
				ti, ni := stands(x, y, 0.8*r)
				to, no := stands(x, y, 1.5*r)
				if no-ni < 1 {
					continue
				}
				in, out := ti/ni, (to-ti)/(no-ni)
				if in <= out {
					continue
				}
				d := math.Hypot(x/float64(s.w)-0.5, y/float64(s.h)-0.5)
				// What is out of focus counts half.
				df, nf := detail(x, y, 1.1*r)
				focus := min(1, df/nf/(1e-9+allDetail/allPixels))
				all = append(all, spot{x, y, r, (in - out) * size * (1 - 0.5*d) * (0.5 + 0.5*focus)})
			}
		}
	}
	top := 0.0
	for _, c := range all {
		top = max(top, c.s)
	}
	all = slices.DeleteFunc(all, func(c spot) bool { return c.s < 0.25*top })
	slices.SortStableFunc(all, func(a, b spot) int { return cmp.Compare(b.s, a.s) })
	var out []spot
	for _, c := range all {
		if len(out) == most || c.s <= 0 {
			break
		}
		if !slices.ContainsFunc(out, func(o spot) bool {
			return math.Hypot(c.x-o.x, c.y-o.y) < 0.6*max(c.r, o.r) && c.r/o.r < 1.7 && o.r/c.r < 1.7
		}) {
			out = append(out, c)
		}
	}
	return out
}

// boxes returns a function that sums v over the square of half side h around
// (x, y) within the map, and counts its pixels.
func (s *scene) boxes(v func(i int) float64) func(x, y, h float64) (total, n float64) {
	w1 := s.w + 1
	sum := make([]float64, w1*(s.h+1))
	for y := range s.h {
		row := 0.0
		for x := range s.w {
			row += v(y*s.w + x)
			sum[(y+1)*w1+x+1] = sum[y*w1+x+1] + row
		}
	}
	return func(x, y, h float64) (total, n float64) {
		x0, y0 := max(0, int(x-h)), max(0, int(y-h))
		x1, y1 := min(s.w, int(x+h)+1), min(s.h, int(y+h)+1)
		if x1 <= x0 || y1 <= y0 {
			return 0, 0
		}
		return sum[y1*w1+x1] - sum[y0*w1+x1] - sum[y1*w1+x0] + sum[y0*w1+x0], float64((x1 - x0) * (y1 - y0))
	}
}

// salience is how far each pixel's colour lies from the colours that fill the
// frame's rim, 0 to 1. Leaf green and neutral counts less.
func (s *scene) salience() []float64 {
	k := len(s.palette)
	rim := s.rim()
	per := make([]float64, k)
	for j, c := range s.palette {
		// A colour that fills a tenth of the rim is background.
		bg := 0.0
		for i, n := range rim {
			d := apart(c, s.palette[i]) / 4
			bg += n * math.Exp(-d*d/2)
		}
		p := math.Exp(-bg / 0.05)
		lch := c.LCh()
		if lch.H > 100 && lch.H < 160 && lch.C > 14 && c.L < 74 { // leaf green: petals may be, but seldom are
			p *= 0.35
		}
		p *= 0.5 + 0.5*min(1, lch.C/25+max(0, c.L-60)/30)
		if c.L < 15 {
			p *= 0.3
		}
		per[j] = p
	}
	out := make([]float64, len(s.lab))
	for i, l := range s.label {
		if !s.skip[i] {
			out[i] = per[l]
		}
	}
	return out
}

// rim is how much of the frame's rim each palette colour fills: its share of
// each of the four sides, the mean of all but the largest, so that a bloom cut
// by one side does not count as background.
func (s *scene) rim() []float64 {
	var side [4][]float64
	var total [4]float64
	for i := range side {
		side[i] = make([]float64, len(s.palette))
	}
	m := max(2, min(s.w, s.h)/14)
	for y := range s.h {
		for x := range s.w {
			i := y*s.w + x
			if s.skip[i] {
				continue
			}
			for n, on := range [4]bool{x < m, y < m, x >= s.w-m, y >= s.h-m} {
				if on {
					side[n][s.label[i]]++
					total[n]++
				}
			}
		}
	}
	out := make([]float64, len(s.palette))
	for j := range out {
		most := 0.0
		for n := range side {
			share := side[n][j] / max(1, total[n])
			out[j] += share / 3
			most = max(most, share)
		}
		out[j] -= most / 3
	}
	return out
}
