package colorimg_test

import (
	"math"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// oneGreyPatch is what the best correction by one grey patch leaves of a 24-patch
// chart that the phone has photographed: the mean Delta E 2000 over the patches, by
// the grey patch that does best.
func oneGreyPatch(phone render.Phone) float64 {
	chart := render.ChartColors()
	best := math.Inf(1)
	for _, grey := range chart {
		if math.Hypot(grey.A, grey.B) > 5 {
			continue
		}
		k := cie.SRGB.RGB(grey.XYZ())
		g := phone.Apply(k)
		sum := 0.0
		for _, c := range chart {
			v := phone.Apply(cie.SRGB.RGB(c.XYZ()))
			v[0], v[1], v[2] = v[0]*k[0]/g[0], v[1]*k[1]/g[1], v[2]*k[2]/g[2]
			sum += cie.DeltaE2000(cie.SRGB.XYZ(v).Lab(), c)
		}
		best = min(best, sum/float64(len(chart)))
	}
	return best
}

// TestOneGreyPatch: the trueness stated of a reading by one grey card covers what
// one grey patch leaves on drawn phones, and not by the least: a phone of strong
// contrast and saturation leaves more than half of it.
func TestOneGreyPatch(t *testing.T) {
	said := measured(t, "testdata/spectral/easy_0006.jpg", nil).SE.Trueness
	usual, strong := oneGreyPatch(render.UsualPhone), oneGreyPatch(render.Phone{Contrast: 0.35, Saturation: 1.3})
	t.Logf("mean Delta E 2000 over the patches: usual phone %.2f, strong %.2f; trueness stated %.2f", usual, strong, said)
	if !(usual < strong && strong <= said && strong >= said/2) {
		t.Errorf("mean Delta E 2000 over the patches: usual phone %.2f, strong %.2f; the trueness stated is %.2f", usual, strong, said)
	}
}
