package petal

import (
	"math"
	"slices"
	"testing"

	"hueward/colorimg/cie"
)

// TestMirror: rows are turned left to right, each by itself.
func TestMirror(t *testing.T) {
	in := []float32{1, 2, 3, 4, 5, 6}
	mirror(in, 3)
	if want := []float32{3, 2, 1, 6, 5, 4}; !slices.Equal(in, want) {
		t.Errorf("mirror = %v, want %v", in, want)
	}
}

// The table of sRGB's curve is right between its steps too. Source: cie.Encode, which is held to IEC 61966-2-1.
func TestCurve(t *testing.T) {
	for x := -0.1; x < 2; x += 0.000037 {
		want := min(cie.Encode(min(max(x, 0), 1.5)), 1.1) - 0.5
		if got := float64(theCurve().at(x)); !(math.Abs(got-want) <= 4e-5) {
			t.Fatalf("at %.6f: %.6f, want %.6f", x, got, want)
		}
	}
}
