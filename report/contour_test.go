package report

import (
	"math"
	"testing"

	"hueward/colorimg/cie"
)

// Every point of the line is as far from the target as it says, all around the
// colour solid: grey, where hue has no meaning, the blues, where CIEDE2000
// turns its ellipses, and a yellow, where they are longest.
func TestContour(t *testing.T) {
	for _, target := range []cie.Lab{
		{L: 50}, {L: 76, A: 16, B: 36}, {L: 35, A: 20, B: -60}, {L: 90, A: -8, B: 90}, {L: 45, A: 70, B: -15}, {L: 60, A: -40, B: 30},
	} {
		for _, within := range []float64{0.5, 4, 12} {
			line := contour(target, within, 72)
			if len(line) != 72 {
				t.Fatalf("contour has %d points, want 72", len(line))
			}
			for _, p := range line {
				got := cie.DeltaE2000(target, cie.Lab{L: target.L, A: p[0], B: p[1]})
				if !(math.Abs(got-within) <= 0.001) {
					t.Errorf("contour(%v, %g) at %.3f: DeltaE2000 = %.4f, want %g ± 0.001", target, within, p, got, within)
				}
			}
			low, high := lightnessRange(target, within)
			for _, l := range []float64{low, high} {
				if l == 0 || l == 100 {
					continue // the end of the scale comes first
				}
				if got := cie.DeltaE2000(target, cie.Lab{L: l, A: target.A, B: target.B}); !(math.Abs(got-within) <= 0.001) {
					t.Errorf("lightnessRange(%v, %g) at %.3f: DeltaE2000 = %.4f, want %g ± 0.001", target, within, l, got, within)
				}
			}
			if low >= target.L || high <= target.L || low < 0 || high > 100 {
				t.Errorf("lightnessRange(%v, %g) = %.2f to %.2f", target, within, low, high)
			}
		}
	}
}
