package petal

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"hueward/colorimg/cie"
)

// patches makes samples of a bloom in cells: each cell has its own shade,
// scattered by 2 around 60, 20, 30, and its pixels scatter by 1 around that.
func patches(r *rand.Rand, cells, pixels int) []*sample {
	var px []*sample
	for c := range cells {
		l, a, b := 60+2*r.NormFloat64(), 20+2*r.NormFloat64(), 30+2*r.NormFloat64()
		for range pixels {
			px = append(px, &sample{cell: c, lab: cie.Lab{L: l + r.NormFloat64(), A: a + r.NormFloat64(), B: b + r.NormFloat64()}})
		}
	}
	return px
}

// meanError is the mean of L*'s standard error over several blooms, and the
// true scatter of their centres around 60.
func meanError(cells, pixels int) (said, scatter float64) {
	r := rand.New(rand.NewPCG(5, uint64(cells*1000+pixels)))
	const n = 150
	for range n {
		px := patches(r, cells, pixels)
		said += cellError(px)[0] / n
		m, _ := center(px)
		scatter += (m.L - 60) * (m.L - 60) / n
	}
	return said, math.Sqrt(scatter)
}

// TestCellErrorShrinks: four times as many parts of a bloom halve the standard
// error, give or take a quarter; four times as many pixels in the same parts
// change it by less than a tenth.
func TestCellErrorShrinks(t *testing.T) {
	base, _ := meanError(20, 20)
	more, _ := meanError(80, 20)
	if r := more / base; r < 0.375 || r > 0.625 {
		t.Errorf("four times the cells: %.3f of %.3f, want half ± a quarter", more, base)
	}
	dense, _ := meanError(20, 80)
	if r := dense / base; r < 0.9 || r > 1.1 {
		t.Errorf("four times the pixels in the same cells: %.3f, was %.3f; want the same within a tenth", dense, base)
	}
}

// TestCellErrorDoubled: a picture whose pixels are each there twice tells
// nothing more.
func TestCellErrorDoubled(t *testing.T) {
	px := patches(rand.New(rand.NewPCG(1, 2)), 30, 15)
	want := cellError(px)
	got := cellError(append(slices.Clone(px), px...))
	for i := range got {
		if math.Abs(got[i]-want[i]) > 1e-9 {
			t.Errorf("standard error %d with every pixel doubled = %.4f, was %.4f", i, got[i], want[i])
		}
	}
}

// TestCellErrorIsHonest: the standard error is not below the true scatter of
// the centre, and not above three times of it.
func TestCellErrorIsHonest(t *testing.T) {
	for _, cells := range []int{15, 40, 100} {
		said, scatter := meanError(cells, 20)
		if said < scatter || said > 3*scatter {
			t.Errorf("%d cells: standard error %.3f, centres scatter by %.3f; want 1 to 3 times that", cells, said, scatter)
		}
	}
}

// TestCellErrorFew: with too few parts to tell it is a guess on the safe side.
func TestCellErrorFew(t *testing.T) {
	for _, cells := range []int{0, 1, 2} {
		for i, v := range cellError(patches(rand.New(rand.NewPCG(1, 2)), cells, 10)) {
			if v < 2 {
				t.Errorf("%d cells: standard error %d = %.2f, want at least 2", cells, i, v)
			}
		}
	}
}
