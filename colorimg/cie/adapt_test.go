package cie

import (
	"math"
	"testing"
)

// The matrices that B. Lindbloom publishes (from memory), for D50 0.96422, 1,
// 0.82521 and D65 0.95047, 1, 1.08883, printed to seven digits.
func TestBradfordLindbloom(t *testing.T) {
	d50 := White{0.96422, 1, 0.82521}
	for _, k := range []struct {
		what     string
		from, to White
		want     Matrix
	}{
		{"D50 to D65", d50, D65, Matrix{
			{0.9555766, -0.0230393, 0.0631636},
			{-0.0282895, 1.0099416, 0.0210077},
			{0.0122982, -0.0204830, 1.3299098},
		}},
		{"D65 to D50", D65, d50, Matrix{
			{1.0478112, 0.0228866, -0.0501270},
			{0.0295424, 0.9904844, -0.0170491},
			{-0.0092345, 0.0150436, 0.7521316},
		}},
	} {
		if got := Bradford(k.from, k.to); !nearMatrix(got, k.want, 1e-7) {
			t.Errorf("Bradford(%s) = %.7f, want %.7f ± 1e-7", k.what, got, k.want)
		}
	}
}

func TestAdapt(t *testing.T) {
	apricot := Lab{78, 18, 41}.XYZ()
	warm := White(Daylight(4200))
	for _, w := range []White{D50, warm, {0.3, 0.32, 0.2}} {
		if got := Adapt(XYZ(w), w, D65); !nearXYZ(got, XYZ(D65), 1e-14) {
			t.Errorf("Adapt(white %v) = %v, want %v", w, got, D65)
		}
		if got := Adapt(Adapt(apricot, D65, w), w, D65); !nearXYZ(got, apricot, 1e-14) {
			t.Errorf("Adapt to %v and back = %v, want %v", w, got, apricot)
		}
	}
	// By way of another white is the same as straight: one gain per cone.
	if got, want := Adapt(Adapt(apricot, D50, warm), warm, D65), Adapt(apricot, D50, D65); !nearXYZ(got, want, 1e-14) {
		t.Errorf("Adapt by way of 4200 K = %v, want %v", got, want)
	}
	if got := Adapt(apricot, D65, D65); got != apricot {
		t.Errorf("Adapt from D65 to itself = %v, want %v exactly", got, apricot)
	}
	if got := Adapt(apricot, White{}, D65); !bad(got.X) {
		t.Errorf("Adapt from a black white = %v, want something not finite", got)
	}
	if got := Adapt(XYZ{math.NaN(), 1, 1}, D50, D65); !bad(got.X) {
		t.Errorf("Adapt(NaN) = %v, want NaN", got)
	}
}
