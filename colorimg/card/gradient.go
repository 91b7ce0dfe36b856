package card

import (
	"cmp"
	"math"
	"slices"
)

// gradient fits a plane of light to blocks (x, y, light) and returns its slope
// along x and y as a share of the mean, with standard errors. Those are
// infinite where there are too few blocks to tell.
func gradient(at [][3]float64) (g, se [2]float64) {
	se = [2]float64{math.Inf(1), math.Inf(1)}
	if len(at) < 8 {
		return g, se
	}
	// The sums are taken in a fixed order, so that the same photo gives the
	// same last digit.
	slices.SortFunc(at, func(a, b [3]float64) int {
		return cmp.Or(cmp.Compare(a[1], b[1]), cmp.Compare(a[0], b[0]))
	})
	var n, mx, my, ml float64
	for _, p := range at {
		n, mx, my, ml = n+1, mx+p[0], my+p[1], ml+p[2]
	}
	mx, my, ml = mx/n, my/n, ml/n
	if ml <= 0 {
		return g, se
	}
	var xx, xy, yy, xl, yl float64
	for _, p := range at {
		x, y, l := p[0]-mx, p[1]-my, p[2]/ml-1
		xx, xy, yy, xl, yl = xx+x*x, xy+x*y, yy+y*y, xl+x*l, yl+y*l
	}
	det := xx*yy - xy*xy
	if det < 1e-6*(xx+yy)*(xx+yy) {
		return g, se
	}
	g = [2]float64{(xl*yy - yl*xy) / det, (yl*xx - xl*xy) / det}
	var rest float64
	for _, p := range at {
		r := p[2]/ml - 1 - g[0]*(p[0]-mx) - g[1]*(p[1]-my)
		rest += r * r
	}
	// 1.3: neighbouring blocks are partly the same evidence.
	s := 1.3 * math.Sqrt(rest/(n-3))
	return g, [2]float64{s * math.Sqrt(yy/det), s * math.Sqrt(xx/det)}
}
