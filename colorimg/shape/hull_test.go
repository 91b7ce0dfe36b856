package shape_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/shape"
)

// TestRowHull: a filled rectangle is its own hull; an L has the hull of its
// corners: 4 × 4 less the half of the 2 × 2 that is missing.
func TestRowHull(t *testing.T) {
	for _, tt := range []struct {
		name string
		rows [][2]int
		want float64
	}{
		{"one pixel", [][2]int{{3, 3}}, 1},
		{"rectangle", [][2]int{{2, 6}, {2, 6}, {2, 6}}, 15},
		{"with an empty row", [][2]int{{2, 6}, {5, 4}, {2, 6}}, 15},
		{"L", [][2]int{{0, 1}, {0, 1}, {0, 3}, {0, 3}}, 14},
		{"none", [][2]int{{1, 0}}, 0},
	} {
		h := shape.RowHull(0, len(tt.rows), func(y int) (int, int) { return tt.rows[y][0], tt.rows[y][1] })
		if got := shape.Area(h); math.Abs(got-tt.want) > 1e-9 {
			t.Errorf("%s: area of the hull = %v, want %v; hull %v", tt.name, got, tt.want, h)
		}
	}
}

// TestRowHullHolds: every corner of every row's ends lies in the hull, and the
// hull turns one way only.
func TestRowHullHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) [2]int {
			l := rapid.IntRange(0, 30).Draw(t, "left")
			return [2]int{l, l + rapid.IntRange(0, 30).Draw(t, "more")}
		}), 1, 20).Draw(t, "rows")
		h := shape.RowHull(0, len(rows), func(y int) (int, int) { return rows[y][0], rows[y][1] })
		side := func(a, b, p [2]float64) float64 {
			return (b[0]-a[0])*(p[1]-a[1]) - (b[1]-a[1])*(p[0]-a[0])
		}
		for y, r := range rows {
			for _, p := range [][2]float64{{float64(r[0]) - 0.5, float64(y) - 0.5}, {float64(r[0]) - 0.5, float64(y) + 0.5},
				{float64(r[1]) + 0.5, float64(y) - 0.5}, {float64(r[1]) + 0.5, float64(y) + 0.5}} {
				for i := range h {
					if s := side(h[i], h[(i+1)%len(h)], p); s > 1e-9 {
						t.Fatalf("rows %v: corner %v lies outside the side %d of %v", rows, p, i, h)
					}
				}
			}
		}
	})
}
