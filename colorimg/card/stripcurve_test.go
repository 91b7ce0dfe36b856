package card_test

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/render"
)

// toneCurves are families of camera curves from sRGB code to sRGB code, 0 to 1,
// all invented here but for render's phone; the argument is how strong, 0 to 1.
var toneCurves = map[string]func(strong float64) func(e float64) float64{
	"none": func(float64) func(float64) float64 { return func(e float64) float64 { return e } },
	"phone": func(s float64) func(float64) float64 {
		p := render.Phone{Contrast: 0.05 + 0.4*s}
		return func(e float64) float64 {
			return cie.Encode(p.Apply(cie.RGB{cie.Linear(e), cie.Linear(e), cie.Linear(e)})[0])
		}
	},
	"smooth step": func(s float64) func(float64) float64 {
		return func(e float64) float64 { return e + (0.1+0.6*s)*(e*e*(3-2*e)-e) }
	},
	"toe and shoulder": func(s float64) func(float64) float64 {
		a := 0.5 + 1.7*s
		return func(e float64) float64 { return (1 - math.Exp(-a*math.Pow(e, 1.25))) / (1 - math.Exp(-a)) }
	},
	"logistic": func(s float64) func(float64) float64 {
		k := 2 + 3*s
		l := func(e float64) float64 { return 1 / (1 + math.Exp(-k*(e-0.5))) }
		return func(e float64) float64 { return (l(e) - l(0)) / (l(1) - l(0)) }
	},
	"sine": func(s float64) func(float64) float64 {
		return func(e float64) float64 { return e - (0.1+0.35*s)*math.Sin(2*math.Pi*e)/(2*math.Pi) }
	},
}

// Petal colours seen through five families of curves, in light of its own colour
// and strength, with the strip read 0.3 % wrong: the strip leaves at most half
// of what the grey card leaves, and does no harm where there is no curve.
func TestStripCurves(t *testing.T) {
	for name, family := range toneCurves {
		r := rand.New(rand.NewPCG(1, 9))
		var one, three []float64
		for range 60 {
			curve := family(r.Float64())
			ev, cast := math.Exp2(-1+0.9*r.Float64()), 0.35*(2*r.Float64()-1)
			light := [3]float64{ev * (1 + cast), ev, ev * (1 - cast)}
			see := func(c [3]float64) (v [3]float64) {
				for k := range c {
					v[k] = cie.Linear(curve(cie.Encode(min(max(c[k]*light[k], 0), 0.999))))
				}
				return v
			}
			patch := func(y float64) card.Patch {
				p := card.Patch{RGB: see([3]float64{y, y, y}), Pixels: 1000, Y: y}
				for k := range p.RGB {
					p.RGB[k] *= 1 + 0.003*r.NormFloat64()
				}
				return p
			}
			s := card.Strip{White: patch(0.90), Grey: patch(0.18), Black: patch(0.035)}
			c, err := s.Curve()
			if err != nil {
				if min(s.White.RGB[0], s.White.RGB[1], s.White.RGB[2]) < 0.97 {
					t.Errorf("%s: %v for white %.3f, grey %.3f, black %.4f", name, err, s.White.RGB, s.Grey.RGB, s.Black.RGB)
				}
				continue
			}
			for _, shade := range render.Shades {
				l := cie.SRGB.RGB(shade.Lab.XYZ())
				want := [3]float64{max(l[0], 0), max(l[1], 0), max(l[2], 0)}
				if want[0]*light[0] > 1 || want[1]*light[1] > 1 || want[2]*light[2] > 1 {
					continue
				}
				v := see(want)
				g := s.Grey.Gains()
				a := c.Apply([3]float32{float32(v[0]), float32(v[1]), float32(v[2])})
				seen := lab(want)
				one = append(one, cie.DeltaE2000(seen, lab([3]float64{v[0] * g[0], v[1] * g[1], v[2] * g[2]})))
				three = append(three, cie.DeltaE2000(seen, lab([3]float64{float64(a[0]), float64(a[1]), float64(a[2])})))
			}
		}
		a, b := spread(one), spread(three)
		t.Logf("%s: %d colours, grey card %.2f, %.2f (median, 90th percentile); strip %.2f, %.2f", name, len(one), a[0], a[1], b[0], b[1])
		if name == "none" {
			if b[0] > a[0]+0.15 {
				t.Errorf("%s: strip %.2f, grey card %.2f, want no harm", name, b[0], a[0])
			}
		} else if b[0] > a[0]/2 {
			t.Errorf("%s: strip %.2f, grey card %.2f, want half at most", name, b[0], a[0])
		}
	}
}

func lab(c [3]float64) cie.Lab {
	return cie.SRGB.XYZ(c).Lab()
}

// strip is what a plain camera with the gains reads, its codes through the curve.
func strip(gain float64, curve func(e float64) float64) card.Strip {
	patch := func(y float64) card.Patch {
		v := cie.Linear(curve(cie.Encode(min(y*gain, 1))))
		return card.Patch{RGB: [3]float64{v, v, v}, Pixels: 1000, Y: y}
	}
	return card.Strip{White: patch(0.90), Grey: patch(0.18), Black: patch(0.035)}
}

// Without a camera's curve it is the grey card's gains.
func TestCurvePlain(t *testing.T) {
	for _, gain := range []float64{0.3, 0.7, 1} {
		c := must.Have(strip(gain, func(e float64) float64 { return e }).Curve())(t)
		for _, v := range []float32{0.001, 0.02, 0.18, 0.5, 0.9} {
			got := c.Apply([3]float32{v, v, v})[1]
			want := v / float32(gain)
			if math.Abs(float64(got-want)) > 0.002*float64(want)+2e-5 {
				t.Errorf("gain %g: Apply(%g) = %.5f, want %.5f ± 0.2 %%", gain, v, got, want)
			}
		}
		if !c.White || !c.Black || math.Abs(c.Contrast[0]-1) > 1e-3 {
			t.Errorf("gain %g: white %v, black %v, contrast %.4f, want true, true, 1", gain, c.White, c.Black, c.Contrast[0])
		}
	}
}

// A clipped white or a lost black leaves a curve by the other two patches.
func TestCurveTwoPatches(t *testing.T) {
	phone := toneCurves["phone"](0.5)
	s := strip(1, phone)
	s.White.Clipped = 0.8
	c, err := s.Curve()
	if err != nil || c.White || !c.Black {
		t.Fatalf("clipped white: Curve has it, or none: %v", err)
	}
	v := float32(cie.Linear(phone(cie.Encode(0.09))))
	if got := c.Apply([3]float32{v, v, v})[0]; math.Abs(float64(got)-0.09) > 0.004 {
		t.Errorf("clipped white: half the grey's light reads %.4f, want 0.090 ± 0.004", got)
	}
	s = strip(1, phone)
	s.Black.RGB = [3]float64{2e-4, 2e-4, 2e-4}
	if c, err = s.Curve(); err != nil || !c.White || c.Black {
		t.Fatalf("lost black: Curve has it, or none: %v", err)
	}
	v = float32(cie.Linear(phone(cie.Encode(0.5))))
	if got := c.Apply([3]float32{v, v, v})[0]; math.Abs(float64(got)-0.5) > 0.02 {
		t.Errorf("lost black: 0.5 reads %.3f, want 0.500 ± 0.020", got)
	}
}

func TestCurveErrors(t *testing.T) {
	straight := func(e float64) float64 { return e }
	for _, k := range []struct {
		what string
		bend func(*card.Strip)
	}{
		{"white darker than grey", func(s *card.Strip) { s.White, s.Grey = s.Grey, s.White }},
		{"black as light as grey", func(s *card.Strip) { s.Black.RGB = s.Grey.RGB }},
		{"white in deep shade", func(s *card.Strip) { s.White.RGB = [3]float64{0.22, 0.22, 0.22} }},
		{"nothing read", func(s *card.Strip) { *s = card.Strip{} }},
		{"not a number", func(s *card.Strip) { s.Grey.RGB[1] = math.NaN() }},
		{"infinite", func(s *card.Strip) { s.White.RGB[2] = math.Inf(1) }},
		{"all too bright", func(s *card.Strip) { s.White.Clipped, s.Black.RGB = 1, [3]float64{1e-5, 1e-5, 1e-5} }},
		{"no reflectance", func(s *card.Strip) { s.Black.Y = 0 }},
	} {
		s := strip(0.8, straight)
		k.bend(&s)
		if c, err := s.Curve(); !errors.Is(err, card.ErrStrip) {
			t.Errorf("%s: Curve: %v, %v, want %v", k.what, c != nil, err, card.ErrStrip)
		}
	}
}

// The curve grows with the light, through 0, without a jump, and goes on above
// the white.
func TestCurveMonotone(t *testing.T) {
	names := []string{"none", "phone", "smooth step", "toe and shoulder", "logistic", "sine"}
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom(names).Draw(t, "curve")
		c, err := strip(rapid.Float64Range(0.3, 1).Draw(t, "gain"), toneCurves[name](rapid.Float64Range(0, 1).Draw(t, "strong"))).Curve()
		if err != nil {
			return
		}
		last := c.Apply([3]float32{-0.1005, -0.1005, -0.1005})[0]
		for i := range 3000 {
			v := float32(i)/2000 - 0.1
			got := c.Apply([3]float32{v, v, v})[0]
			if got <= last || got-last > 0.05 {
				t.Fatalf("Apply(%.4f) = %.5f after %.5f, want a little more", v, got, last)
			}
			last = got
		}
		if got := c.Apply([3]float32{})[0]; got != 0 {
			t.Fatalf("Apply(0) = %g, want 0", got)
		}
	})
}

func BenchmarkCurveApply(b *testing.B) {
	c := must.Have(strip(0.8, toneCurves["phone"](0.5)).Curve())(b)
	p := [3]float32{0.4, 0.3, 0.1}
	for b.Loop() {
		p = c.Apply([3]float32{0.4, 0.3, p[2] * 1e-9})
	}
}
