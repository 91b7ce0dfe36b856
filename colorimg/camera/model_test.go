package camera

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/cie"
	"hueward/colorimg/render"
)

// Source: the values of polynomial_expansion_Finlayson2015 in
// colour-science/colour, colour/characterisation/tests/test_correction.py at
// 065e7d6.
func TestTerms(t *testing.T) {
	in := [3]float64{0.17224810, 0.09170660, 0.06416938}
	for degree, want := range map[int][]float64{
		1: {0.17224810, 0.09170660, 0.06416938},
		2: {0.17224810, 0.09170660, 0.06416938, 0.12568328, 0.07671216, 0.10513350},
		3: {0.17224810, 0.09170660, 0.06416938, 0.12568328, 0.07671216, 0.10513350,
			0.11314930, 0.07228010, 0.08918053, 0.13960570, 0.08141598, 0.12394021, 0.10045255},
	} {
		got := terms(nil, in, degree)
		if len(got) != len(want) || len(got) != termCount(degree) {
			t.Fatalf("degree %d has %d terms, want %d", degree, len(got), len(want))
		}
		for k := range want {
			if math.Abs(got[k]-want[k]) > 1e-8 {
				t.Errorf("degree %d, term %d = %.8f, want %.8f ± 1e-8", degree, k, got[k], want[k])
			}
		}
	}
}

// models draws sound models of all kinds.
var models = rapid.Custom(func(t *rapid.T) *Model {
	m := &Model{Space: rapid.SampledFrom([]string{cie.SRGB.Name, cie.DisplayP3.Name}).Draw(t, "space")}
	m.Degree = rapid.IntRange(0, 3).Draw(t, "degree")
	m.Kind = form{degree: m.Degree}.kind()
	if rapid.Bool().Draw(t, "curve") {
		m.Curve = rapid.SliceOfN(rapid.Float64Range(-0.2, 0.2), curveTerms, curveTerms).Draw(t, "curve")
	}
	for c := range m.Coef {
		if n := termCount(m.Degree); n > 0 {
			m.Coef[c] = rapid.SliceOfN(rapid.Float64Range(-0.3, 0.3), n, n).Draw(t, "coef")
			m.Coef[c][c] = 0
		}
	}
	return m
})

// k times a colour is corrected to k times the result, and grey stays grey.
func TestApplyLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := models.Draw(t, "model")
		v := [3]float64(rapid.SliceOfN(rapid.Float64Range(-0.2, 1.5), 3, 3).Draw(t, "colour"))
		k := rapid.Float64Range(1e-3, 50).Draw(t, "k")
		want, got := m.Apply(v), m.Apply([3]float64{k * v[0], k * v[1], k * v[2]})
		for c := range want {
			if math.Abs(got[c]-k*want[c]) > 1e-9*k {
				t.Fatalf("channel %d of %g times the colour = %g, want %g", c, k, got[c], k*want[c])
			}
		}
		gray := [3]float64{k, k, k}
		for c, x := range m.Apply(gray) {
			if math.Abs(x-k) > 1e-9*k {
				t.Fatalf("grey %g: channel %d = %g", k, c, x)
			}
		}
		u := m.Uncurve([3]float64{v[0], v[0], v[0]})
		if math.Abs(u[0]-u[1]) > 1e-9 || math.Abs(u[0]-u[2]) > 1e-9 {
			t.Fatalf("Uncurve of grey %g = %v", v[0], u)
		}
	})
}

// A whole picture at once is what its pixels are one by one.
func TestCorrect(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := models.Draw(t, "model")
		pix := rapid.SliceOfN(rapid.Float32Range(-0.3, 1.5), 30, 30).Draw(t, "pixels")
		got := append([]float32(nil), pix...)
		m.Correct(got)
		for i := 0; i < len(pix); i += 3 {
			v := [3]float64{float64(pix[i]), float64(pix[i+1]), float64(pix[i+2])}
			want := m.Apply(m.Uncurve(v))
			for c := range want {
				// Roots are steep near 0: the table's error grows there.
				if d := math.Abs(float64(got[i+c]) - want[c]); d > 3e-3 || d > 2e-4 && m.Degree < 2 {
					t.Fatalf("pixel %v, channel %d = %g, want %g", v, c, got[i+c], want[c])
				}
			}
		}
	})
}

func TestCurve(t *testing.T) {
	var none curve
	for _, v := range []float64{-0.3, 0, 1e-9, 0.18, 1, 1.7} {
		if got := none.at(v); got != v {
			t.Errorf("no curve: %g becomes %g", v, got)
		}
	}
	rising := rapid.SliceOfN(rapid.Float64Range(-1, 1), 0, curveTerms).Filter(func(v []float64) bool { return curve(v).rises() })
	rapid.Check(t, func(t *rapid.T) {
		c := curve(rising.Draw(t, "curve"))
		x, y := rapid.Float64Range(-2, 2).Draw(t, "x"), rapid.Float64Range(-2, 2).Draw(t, "y")
		if x > y {
			x, y = y, x
		}
		if y-x > 1e-3 && !(c.at(x) < c.at(y)) {
			t.Fatalf("the curve %v falls from %g at %g to %g at %g", c, c.at(x), x, c.at(y), y)
		}
		if math.Abs(c.at(-x)+c.at(x)) > 1e-12 || c.at(0) != 0 || math.Abs(c.at(1)-1) > 1e-12 {
			t.Fatalf("the curve %v moves black or white, or is not mirrored", c)
		}
		v := [3]float64{x, 0.2, 1}
		if c.table().undo(&v); math.Abs(v[0]-c.at(x)) > 1e-4 {
			t.Fatalf("the table is off by %g at %g", v[0]-c.at(x), x)
		}
	})
}

// The form follows the shapes that phones are taken to have: what is left of
// one, on greys from 3 to 90 %, is below 1.5 units of L*. Each is relative to
// an 18 % grey, as the card makes it.
func TestCurveShapes(t *testing.T) {
	rendered := func(contrast float64) func(float64) float64 {
		return func(e float64) float64 {
			v := cie.Linear(e)
			return cie.Encode(render.Phone{Contrast: contrast}.Apply(cie.RGB{v, v, v})[1])
		}
	}
	for name, f := range map[string]func(float64) float64{
		"contrast 0.3": contrast(0.3), "contrast 0.6": contrast(0.6), "bright": bright(0.85, 0.4),
		"rendered 0.2": rendered(0.2), "rendered 0.4": rendered(0.4),
	} {
		m := learn(t, &phone{space: cie.DisplayP3, sat: 1, curve: f})
		at := func(y float64) float64 { return curve(m.Curve).at(cie.Linear(f(cie.Encode(y)))) }
		for _, y := range []float64{0.03, 0.06, 0.09, 0.18, 0.36, 0.6, 0.9} {
			l := func(y float64) float64 { return cie.XYZ{X: y * cie.D65.X, Y: y, Z: y * cie.D65.Z}.Lab().L }
			if d := l(at(0.7*y)/at(0.7*0.18)*0.18) - l(y); math.Abs(d) > 1.5 {
				t.Errorf("%s: grey %g is off by %.2f in L*, want at most 1.5", name, y, d)
			}
		}
	}
}

func TestOf(t *testing.T) {
	m := &Model{}
	models := map[string]*Model{"Made-up Phone 3": m}
	for name, want := range map[string]*Model{"Made-up Phone 3": m, "MADE-UP phone 3": m, "Made-up Phone": nil, "": nil} {
		if got := Of(models, name); got != want {
			t.Errorf("Of(%q) = %v, want %v", name, got, want)
		}
	}
	if Of(nil, "Made-up Phone 3") != nil {
		t.Error("no models, but one found")
	}
}

// The working picture of one photo.
func BenchmarkCorrect(b *testing.B) {
	for name, phone := range map[string]string{"matrix": "crosstalk", "root-polynomial": "late saturation"} {
		b.Run(name, func(b *testing.B) {
			m := learn(b, phones[phone])
			from, pix := make([]float32, 3*1024*768), make([]float32, 3*1024*768)
			for i := range from {
				from[i] = float32(i%997) / 997
			}
			for b.Loop() {
				copy(pix, from)
				m.Correct(pix)
			}
		})
	}
}
