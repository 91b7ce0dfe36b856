package cie

import (
	"testing"

	"pgregory.net/rapid"
)

// IEC 61966-2-1:1999 prints the matrix to four digits, from the white 0.3127,
// 0.3290; ours keeps the table's D65. Both are checked: the same derivation from
// the standard's white to half a printed digit, ours to that and the difference
// of the whites.
func TestSRGBMatrix(t *testing.T) {
	want := Matrix{{0.4124, 0.3576, 0.1805}, {0.2126, 0.7152, 0.0722}, {0.0193, 0.1192, 0.9505}}
	iec := newSpace("", srgbPrimaries, White(fromXY(0.3127, 0.3290)))
	if !nearMatrix(iec.ToXYZ, want, 5e-5) {
		t.Errorf("sRGB from the standard's white = %.5f, want %.4f ± 0.00005", iec.ToXYZ, want)
	}
	if !nearMatrix(SRGB.ToXYZ, want, 3e-4) {
		t.Errorf("SRGB.ToXYZ = %.5f, want %.4f ± 0.0003", SRGB.ToXYZ, want)
	}
	// The same white and primaries as B. Lindbloom's published matrix (from
	// memory), printed to seven digits.
	lindbloom := Matrix{
		{0.4124564, 0.3575761, 0.1804375},
		{0.2126729, 0.7151522, 0.0721750},
		{0.0193339, 0.1191920, 0.9503041},
	}
	if !nearMatrix(SRGB.ToXYZ, lindbloom, 1e-7) {
		t.Errorf("SRGB.ToXYZ = %.7f, want %.7f ± 1e-7", SRGB.ToXYZ, lindbloom)
	}
}

func TestSpaceWhite(t *testing.T) {
	for _, s := range []Space{SRGB, DisplayP3} {
		if got := s.XYZ(RGB{1, 1, 1}); !nearXYZ(got, XYZ(D65), 1e-14) {
			t.Errorf("white of %s = %v, want %v", s.Name, got, D65)
		}
		id := s.ToXYZ.Mul(s.FromXYZ)
		if !nearMatrix(id, Matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, 1e-14) {
			t.Errorf("%s: ToXYZ times FromXYZ = %v, want the identity", s.Name, id)
		}
	}
}

// Values worked out from the formula of IEC 61966-2-1:1999; 0.5 encoded is the
// 0.21404 that any table of sRGB gives.
func TestTransferFunction(t *testing.T) {
	for _, k := range []struct{ encoded, linear, tolerance float64 }{
		{0, 0, 0}, {1, 1, 1e-15}, {0.5, 0.21404, 5e-6}, {0.04045, 0.0031308, 1e-8}, {-0.5, -0.21404, 5e-6},
	} {
		if got := Linear(k.encoded); !near(got, k.linear, k.tolerance) {
			t.Errorf("Linear(%g) = %.7f, want %.7f ± %g", k.encoded, got, k.linear, k.tolerance)
		}
		if got := Encode(k.linear); !near(got, k.encoded, 13*k.tolerance) { // the steepest slope is 12.92
			t.Errorf("Encode(%g) = %.7f, want %.7f ± %g", k.linear, got, k.encoded, 13*k.tolerance)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-2, 2).Draw(t, "value")
		// The standard's two pieces miss each other by 3e-8 at the break.
		if got := Encode(Linear(v)); !near(got, v, 1e-6) {
			t.Fatalf("Encode(Linear(%g)) = %g", v, got)
		}
	})
}

func TestInverseSingular(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("Inverse of a singular matrix did not panic")
		}
	}()
	Matrix{{1, 2, 3}, {2, 4, 6}, {0, 0, 1}}.Inverse()
}
