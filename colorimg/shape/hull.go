// Package shape has the plane geometry of areas of pixels that card and petals
// share. Pixel centres lie at whole numbers.
package shape

import (
	"math"
	"slices"
)

// RowHull returns the convex hull of an area of pixels, in order around it; it includes the pixels' outer corners. The area
// is given row by row, from y0 up to y1, y1 excluded: reach returns the first and the last pixel of a row, the last before
// the first for none.
func RowHull(y0, y1 int, reach func(y int) (left, right int)) [][2]float64 {
	var lefts, rights [][2]float64 // two chains down the rows' ends, each turning one way only
	for y := y0; y < y1; y++ {
		l, r := reach(y)
		if r < l {
			continue
		}
		for _, e := range [2]float64{float64(y) - 0.5, float64(y) + 0.5} {
			lefts = chain(lefts, [2]float64{float64(l) - 0.5, e}, 1)
			rights = chain(rights, [2]float64{float64(r) + 0.5, e}, -1)
		}
	}
	slices.Reverse(rights)
	return append(lefts, rights...)
}

// chain adds p to a chain that turns one way only.
func chain(c [][2]float64, p [2]float64, turn float64) [][2]float64 {
	for len(c) > 1 {
		a, b := c[len(c)-2], c[len(c)-1]
		if turn*((b[0]-a[0])*(p[1]-b[1])-(b[1]-a[1])*(p[0]-b[0])) < 0 {
			break
		}
		c = c[:len(c)-1]
	}
	return append(c, p)
}

// Area returns the area that a polygon encloses, never negative.
func Area(p [][2]float64) float64 { return math.Abs(Turned(p)) }

// Turned returns the signed area that a polygon encloses: negative where its corners run counter-clockwise, with y down.
func Turned(p [][2]float64) float64 {
	s := 0.0
	for i := range p {
		j := (i + 1) % len(p)
		s += p[i][0]*p[j][1] - p[j][0]*p[i][1]
	}
	return s / 2
}
