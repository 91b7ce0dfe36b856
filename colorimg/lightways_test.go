package colorimg_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"image"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/disintegration/imaging"

	"hueward/colorimg"
	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/colorimg/robust"
)

// lit is one picture's petals with all that a way of correcting the light may
// know: the card's true place, and so its colour.
type lit struct {
	petals [][3]float64 // linear sRGB as the file claims it; the true petals, those clipped left out
	card   [3]float64   // the grey's
	y      float64      // what the grey reflects
	curve  *card.Curve  // of the strip; nil: none, or it fits no curve
	want   cie.Lab
}

// A way makes of the picture's linear sRGB that under D65, the card its own grey.
type way struct {
	name string
	of   func(p lit) func(v [3]float64) [3]float64
}

// The matrices from XYZ to the channels that the gains are applied in. Gains do
// not care how a row is scaled, only where it points.
//
// Source: Rec. 2020 from ITU-R BT.2020; CAT02 from CIE 159:2004; CAT16 from Li
// et al. 2017, Color Res. Appl. 42:703, and CIE 248:2022; all from memory.
// Bradford is that of package cie (Lam 1985, ICC.1 annex E).
var (
	rec2020 = cie.Matrix{{1.7166512, -0.3556708, -0.2533663}, {-0.6666844, 1.6164812, 0.0157685}, {0.0176399, -0.0427706, 0.9421031}}
	cat02   = cie.Matrix{{0.7328, 0.4296, -0.1624}, {-0.7036, 1.6975, 0.0061}, {0.0030, 0.0136, 0.9834}}
	cat16   = cie.Matrix{{0.401288, 0.650173, -0.051461}, {-0.250268, 1.204414, 0.045854}, {-0.002079, 0.048952, 0.953127}}
)

const linearGains, stripCurve = 0, 8

var ways = []way{
	{"linear sRGB gains", gainsIn(cie.SRGB.FromXYZ)},
	{"Bradford", func(p lit) func([3]float64) [3]float64 {
		x := cie.SRGB.XYZ(cie.RGB{R: p.card[0], G: p.card[1], B: p.card[2]})
		return byMatrix(cie.SRGB.FromXYZ.Mul(cie.Bradford(cie.White{X: x.X / p.y, Y: x.Y / p.y, Z: x.Z / p.y}, cie.D65)).Mul(cie.SRGB.ToXYZ))
	}},
	{"CAT02", gainsIn(cat02)},
	{"CAT16", gainsIn(cat16)},
	{"Display P3 gains", gainsIn(cie.DisplayP3.FromXYZ)},
	{"Rec. 2020 gains", gainsIn(rec2020)},
	{"guessed curve undone", guessed(render.Phone{Contrast: render.UsualPhone.Contrast, Saturation: 1})},
	{"guessed phone undone", guessed(render.UsualPhone)},
	{"strip's curve undone", func(p lit) func([3]float64) [3]float64 {
		if p.curve == nil { // as Measure does
			return gainsIn(cie.SRGB.FromXYZ)(p)
		}
		return func(v [3]float64) [3]float64 {
			c := p.curve.Apply([3]float32{float32(v[0]), float32(v[1]), float32(v[2])})
			return [3]float64{float64(c[0]), float64(c[1]), float64(c[2])}
		}
	}},
}

func byMatrix(m cie.Matrix) func([3]float64) [3]float64 {
	return func(v [3]float64) (c [3]float64) {
		c[0], c[1], c[2] = m.Apply(v[0], v[1], v[2])
		return c
	}
}

// gainsIn multiplies each channel of the space so that the card becomes the
// grey that it is (von Kries).
func gainsIn(m cie.Matrix) func(lit) func([3]float64) [3]float64 {
	return func(p lit) func([3]float64) [3]float64 {
		from := m.Mul(cie.SRGB.ToXYZ)
		var k cie.Matrix
		a, b, c := from.Apply(p.card[0], p.card[1], p.card[2])
		u, v, w := from.Apply(p.y, p.y, p.y)
		k[0][0], k[1][1], k[2][2] = u/a, v/b, w/c
		return byMatrix(from.Inverse().Mul(k).Mul(from))
	}
}

// guessed undoes what the phone would have done, then applies linear gains: the
// inverse of [render.Phone.Apply].
func guessed(ph render.Phone) func(lit) func([3]float64) [3]float64 {
	const pivot = 0.4613561
	k := 1 / (1 + ph.Contrast)
	undo := func(v [3]float64) (c [3]float64) {
		for i, x := range v {
			switch e := cie.Encode(x); {
			case e <= 0 || e >= 1:
				c[i] = x
			case e < pivot:
				c[i] = cie.Linear(pivot * math.Pow(e/pivot, k))
			default:
				c[i] = cie.Linear(1 - (1-pivot)*math.Pow((1-e)/(1-pivot), k))
			}
		}
		y := 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2]
		for i := range c {
			c[i] = y + (c[i]-y)/ph.Saturation
		}
		return c
	}
	return func(p lit) func([3]float64) [3]float64 {
		p.card = undo(p.card)
		gains := gainsIn(cie.SRGB.FromXYZ)(p)
		return func(v [3]float64) [3]float64 { return gains(undo(v)) }
	}
}

// off is how far the petals' median Lab, corrected by the way, is from the truth.
func (w way) off(p lit) float64 {
	f := w.of(p)
	var lab [3][]float64
	for _, v := range p.petals {
		c := f(v)
		x := cie.SRGB.XYZ(cie.RGB{R: c[0], G: c[1], B: c[2]}).Lab()
		lab[0], lab[1], lab[2] = append(lab[0], x.L), append(lab[1], x.A), append(lab[2], x.B)
	}
	return cie.DeltaE2000(cie.Lab{L: robust.Median(lab[0]), A: robust.Median(lab[1]), B: robust.Median(lab[2])}, p.want)
}

// litOf takes card and petals from an opened photo, by the truth.
func litOf(im *photo.Linear, mask *image.Gray, grey card.Quad, strip card.StripQuad, want cie.Lab) lit {
	p := lit{card: card.Read(im, grey, 0).RGB, y: card.DefaultY, want: want}
	if strip != (card.StripQuad{}) {
		if c, err := card.ReadStrip(im, strip, [3]float64{}).Curve(); err == nil {
			p.curve = c
		}
	}
	var all [][3]float64
	for i, v := range mask.Pix {
		if v > 127 && im.Clipped[i] == 0 {
			all = append(all, [3]float64{float64(im.Pix[3*i]), float64(im.Pix[3*i+1]), float64(im.Pix[3*i+2])})
		}
	}
	for i := 0; i < len(all); i += 1 + len(all)/2000 {
		p.petals = append(p.petals, all[i])
	}
	return p
}

// drawLit draws the scenes that can be measured, and takes them apart.
func drawLit(t *testing.T, n int, scene func(i int) render.Scene) []lit {
	t.Helper()
	out, dir := make([]lit, n), t.TempDir()
	var wg sync.WaitGroup
	slots := make(chan bool, 2)
	for i := range n {
		wg.Go(func() {
			slots <- true
			defer func() { <-slots }()
			s := scene(i)
			s.Width, s.Height = 640, 480
			var b bytes.Buffer
			truth, err := s.JPEG(&b, 92)
			name := filepath.Join(dir, fmt.Sprint(i, ".jpg"))
			err = errors.Join(err, os.WriteFile(name, b.Bytes(), 0o600))
			p, err2 := photo.Open(context.Background(), name, nil)
			if err = errors.Join(err, err2); err != nil {
				t.Error(err)
				return
			}
			strip := card.StripQuad{White: truth.Strip[0], Grey: truth.Strip[1], Black: truth.Strip[2]}
			if truth.Measurable {
				out[i] = litOf(p.Image, truth.Mask, truth.Card, strip, truth.Seen)
			}
		})
	}
	wg.Wait()
	out = slices.DeleteFunc(out, func(p lit) bool { return len(p.petals) < 50 })
	if t.Failed() || len(out) < n/3 {
		t.Fatalf("%d of %d pictures can be measured, want a third", len(out), n)
	}
	return out
}

// compositesLit are photos made of real ones, as in TestRealPhotos, which tells
// what it needs.
func compositesLit(t *testing.T, n int) []lit {
	t.Helper()
	photos, out := filepath.Join(t.TempDir(), "photos"), filepath.Join(t.TempDir(), "out")
	if msg, err := exec.Command("bash", "../testdata/photos/fetch.sh", photos).CombinedOutput(); err != nil {
		t.Fatalf("fetch.sh: %v\n%s", err, msg)
	}
	if msg, err := exec.Command("/usr/bin/python3", "../testdata/photos/composite.py", photos, out,
		"--n", fmt.Sprint(n), "--seed", "12", "--ev=-1,-0.2").CombinedOutput(); err != nil {
		t.Fatalf("composite.py: %v\n%s", err, msg)
	}
	var truth struct {
		Photos []struct {
			File, Mask string
			Grey       card.Quad        `json:"card_grey"`
			Want       *colorimg.Triple `json:"unclipped_lab_median"`
		}
	}
	b, err := os.ReadFile(filepath.Join(out, "truth.json"))
	if err == nil {
		err = json.Unmarshal(b, &truth)
	}
	if err != nil {
		t.Fatal(err)
	}
	var lits []lit
	for _, p := range truth.Photos {
		f, err := photo.Open(context.Background(), filepath.Join(out, p.File), &photo.Options{Work: 1 << 14})
		m, err2 := imaging.Open(filepath.Join(out, p.Mask))
		if err = errors.Join(err, err2); err != nil {
			t.Fatal(err)
		}
		if p.Want != nil {
			lits = append(lits, litOf(f.Image, m.(*image.Gray), p.Grey, card.StripQuad{}, p.Want.Lab()))
		}
	}
	return lits
}

// Spectra from 380 to 780 nm in steps of 10: the three of daylight.
//
// Source: CIE 15, table of the components S0, S1 and S2; from memory.
// TestLightWaysNumbers compares their light with cie.Daylight.
var daylight = [3][41]float64{
	{63.4, 65.8, 94.8, 104.8, 105.9, 96.8, 113.9, 125.6, 125.5, 121.3, 121.3, 113.5, 113.1, 110.8, 106.5, 108.8, 105.3, 104.4, 100, 96, 95.1, 89.1, 90.5, 90.3, 88.4, 84, 85.1, 81.9, 82.6, 84.9, 81.3, 71.9, 74.3, 76.4, 63.3, 71.7, 77, 65.2, 47.7, 68.6, 65},
	{38.5, 35, 43.4, 46.3, 43.9, 37.1, 36.7, 35.9, 32.6, 27.9, 24.3, 20.1, 16.2, 13.2, 8.6, 6.1, 4.2, 1.9, 0, -1.6, -3.5, -3.5, -5.8, -7.2, -8.6, -9.5, -10.9, -10.7, -12, -14, -13.6, -12, -13.3, -12.9, -10.6, -11.6, -12.2, -10.2, -7.8, -11.2, -10.4},
	{3, 1.2, -1.1, -0.5, -0.7, -1.2, -2.6, -2.9, -2.8, -2.6, -2.6, -1.8, -1.5, -1.3, -1.2, -1, -0.5, -0.3, 0, 0.2, 0.5, 2.1, 3.2, 4.1, 4.7, 5.1, 6.7, 7.3, 8.6, 9.8, 10.2, 8.3, 9.6, 8.5, 7, 7.6, 8, 6.7, 5.2, 7.4, 6.8},
}

type spectrum [41]float64

// spectrumOf samples f, of wavelengths in nm.
func spectrumOf(f func(nm float64) float64) (s spectrum) {
	for i := range s {
		s[i] = f(380 + 10*float64(i))
	}
	return s
}

// daylightOf is the spectrum of light whose colour is that of cie.Daylight.
func daylightOf(kelvin float64) spectrum {
	x, y := cie.Daylight(kelvin).Chromaticity()
	m := 0.0241 + 0.2562*x - 0.7341*y
	m1, m2 := (-1.3515-1.7703*x+5.9114*y)/m, (0.0300-31.4424*x+30.0717*y)/m
	var s spectrum
	for i := range s {
		s[i] = daylight[0][i] + m1*daylight[1][i] + m2*daylight[2][i]
	}
	return s
}

// bell is a curve with a width of its own on either side.
func bell(nm, at, left, right float64) float64 {
	if nm < at {
		right = left
	}
	return math.Exp(-0.5 * (nm - at) * (nm - at) / (right * right))
}

// A sensor is three sensitivities and the matrix by which its raw channels,
// balanced for D65, become linear sRGB.
type sensor struct {
	s   [3]spectrum
	raw cie.Matrix
}

// observer sees as CIE 1931's does.
//
// Source: the fit of Wyman, Sloan, Shirley 2013, JCGT 2(2); from memory.
var observer = sensor{raw: cie.SRGB.FromXYZ.Mul(cie.Matrix{{cie.D65.X}, {0, 1}, {0, 0, cie.D65.Z}}), s: [3]spectrum{
	spectrumOf(func(l float64) float64 {
		return 1.056*bell(l, 599.8, 37.9, 31.0) + 0.362*bell(l, 442.0, 16.0, 26.7) - 0.065*bell(l, 501.1, 20.4, 26.2)
	}),
	spectrumOf(func(l float64) float64 { return 0.821*bell(l, 568.8, 46.9, 40.5) + 0.286*bell(l, 530.9, 16.3, 31.1) }),
	spectrumOf(func(l float64) float64 { return 1.217*bell(l, 437.0, 11.8, 36.0) + 0.681*bell(l, 459.0, 26.0, 13.8) }),
}}

// see is what the sensor makes of the surface in the light, 1 for white in white.
func (s sensor) see(surface, light, white spectrum) (v [3]float64) {
	for k := range v {
		n := 0.0
		for i, r := range s.s[k] {
			v[k] += r * light[i] * surface[i]
			n += r * white[i]
		}
		v[k] /= n
	}
	return v
}

// rgb is the linear sRGB that the sensor makes of the surface in white light.
func (s sensor) rgb(surface, white spectrum) [3]float64 {
	return byMatrix(s.raw)(s.see(surface, white, white))
}

// pigment is the reflectance of a made-up petal: paler or deeper bands as of
// anthocyanins (from 500 to 600 nm), carotenoids (below 520 nm) and chlorophyll
// on a pale tissue. Shapes from common practice, no source.
func pigment(r *rand.Rand) spectrum {
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	antho, at, wide := between(0, 3)*float64(r.IntN(2)), between(510, 590), between(30, 50)
	carot, edge, soft := between(0, 3)*float64(r.IntN(2)), between(490, 525), between(6, 14)
	chloro, pale := between(0, 1.2)*float64(r.IntN(4)/3), between(0.6, 0.9)
	return spectrumOf(func(l float64) float64 {
		d := antho*bell(l, at, 1.4*wide, wide) + carot/(1+math.Exp((l-edge)/soft)) +
			chloro*(bell(l, 435, 30, 25)+0.7*bell(l, 672, 30, 12)+0.25*bell(l, 620, 25, 30))
		return pale * (0.04 + 0.96*math.Exp(-d)) * (1 - 0.25*bell(l, 380, 15, 15))
	})
}

// cameraSensor is a made-up camera: bells where those of cameras lie
// (common practice, no source), and the matrix that suits 200 petals best.
func cameraSensor(white spectrum) sensor {
	c := sensor{s: [3]spectrum{
		spectrumOf(func(l float64) float64 { return bell(l, 600, 28, 38) + 0.06*bell(l, 530, 40, 40) }),
		spectrumOf(func(l float64) float64 { return bell(l, 535, 38, 42) }),
		spectrumOf(func(l float64) float64 { return bell(l, 460, 26, 32) + 0.05*bell(l, 530, 30, 30) }),
	}}
	r := rand.New(rand.NewPCG(3, 3))
	// Each row by least squares, its sum 1 so that white stays white: two unknowns.
	var a, b, d float64 // of the normal equations
	var e, f [3]float64
	for range 200 {
		p := pigment(r)
		v, want := c.see(p, white, white), observer.rgb(p, white)
		x, y := v[0]-v[2], v[1]-v[2]
		a, b, d = a+x*x, b+x*y, d+y*y
		for k := range 3 {
			e[k], f[k] = e[k]+x*(want[k]-v[2]), f[k]+y*(want[k]-v[2])
		}
	}
	for k := range 3 {
		det := a*d - b*b
		m, n := (e[k]*d-f[k]*b)/det, (a*f[k]-b*e[k])/det
		c.raw[k] = [3]float64{m, n, 1 - m - n}
	}
	return c
}

// spectraLit are petals computed wavelength by wavelength under daylight of 4000
// to 11 000 K, as the standard observer sees them or as a camera does. Both are
// balanced for D65, or the camera balances each light, wrong by the standard
// deviation off. No way of correcting made their light.
func spectraLit(n int, byCamera bool, off float64) (out []lit) {
	white := daylightOf(6504)
	c := observer
	if byCamera {
		c = cameraSensor(white)
	}
	r := rand.New(rand.NewPCG(1, 2))
	grey := spectrumOf(func(float64) float64 { return 0.18 })
	for len(out) < n {
		p := pigment(r)
		light := daylightOf(1e6 / (1e6/11000 + r.Float64()*(1e6/4000-1e6/11000)))
		v := observer.rgb(p, white)
		if min(v[0], v[1], v[2]) < 0.005 || max(v[0], v[1], v[2]) > 1 {
			continue
		}
		seen, card := c.see(p, light, white), c.see(grey, light, white)
		for k := 0; k < 3 && off > 0; k++ {
			b := 0.18 / card[k] * math.Exp(off*r.NormFloat64())
			seen[k], card[k] = seen[k]*b, card[k]*b
		}
		rgb := byMatrix(c.raw)
		x := cie.SRGB.XYZ(cie.RGB{R: v[0], G: v[1], B: v[2]})
		out = append(out, lit{petals: [][3]float64{rgb(seen)}, card: rgb(card), y: 0.18, want: x.Lab()})
	}
	return out
}

// TestLightWays compares ways of correcting the light by the card. It knows the
// true petals and the true place of the card, so that only the correction
// counts. The drawn photos and the composites of real ones have their light made
// by gains of linear sRGB, which favours the first way: it must be within 0.1 of
// the best there. The spectra favour none; there the first way may be behind by 0.3.
//
// No source: a comparison of our own. -v prints the table for DEVELOPERS.md.
func TestLightWays(t *testing.T) {
	const m = 2000 // petals
	n := 34        // photos
	if testing.Short() {
		n = 17
	}
	curve := render.Phone{Contrast: render.UsualPhone.Contrast}
	varied := func(strip bool, ph *render.Phone) func(int) render.Scene {
		return func(i int) render.Scene {
			s := render.Varied(i, 4)
			s.Phone = ph
			if strip {
				s.Card = render.CardSpec{Strip: true, Angle: s.Card.Angle, Border: s.Card.Border}
			}
			return s
		}
	}
	hard := func(odd int) func(int) render.Scene {
		return func(i int) render.Scene { return render.Hard(2*i+odd, 4) }
	}
	type set struct {
		name                   string
		spectra, strip, curved bool // computed from spectra; the card is a strip; the camera bends the tones
		lits                   []lit
	}
	sets := []set{
		{"spectra, standard observer", true, false, false, spectraLit(m, false, 0)},
		{"spectra, a camera kept at D65", true, false, false, spectraLit(m, true, 0)},
		{"spectra, a camera that balances", true, false, false, spectraLit(m, true, 0.05)},
		{"drawn, fair, grey card", false, false, false, drawLit(t, n, varied(false, nil))},
		{"drawn, fair, strip", false, true, false, drawLit(t, n, varied(true, nil))},
		{"the same, phone's curve", false, true, true, drawLit(t, n, varied(true, &curve))},
		{"the same, phone's curve and saturation", false, true, true, drawLit(t, n, varied(true, &render.UsualPhone))},
		{"drawn, hard, grey card", false, false, true, drawLit(t, n, hard(0))},
		{"drawn, hard, strip", false, true, true, drawLit(t, n, hard(1))},
	}
	if os.Getenv("HUEWARD_FULL") != "" {
		sets = append(sets, set{"composites of real photographs", false, false, false, compositesLit(t, 24)})
	}
	table := "| pictures"
	for _, w := range ways {
		table += " | " + w.name
	}
	table += "\n" + strings.Repeat("| --- ", len(ways)) + "| ---"
	for _, s := range sets {
		table += fmt.Sprintf("\n| %s (%d)", s.name, len(s.lits))
		best := math.Inf(1)
		med := make([]float64, len(ways))
		for i, w := range ways {
			if i == stripCurve && !s.strip {
				table += " | –"
				continue
			}
			var de []float64
			for _, p := range s.lits {
				de = append(de, w.off(p))
			}
			med[i] = quantile(de, 0.5)
			best = min(best, med[i])
			table += fmt.Sprintf(" | %.2f, %.2f", med[i], quantile(de, 0.95))
		}
		near := 0.1
		if s.spectra {
			near = 0.3
		}
		if !s.curved && !(med[linearGains] <= best+near) {
			t.Errorf("%s: median Delta E 2000 by linear gains = %.2f, want within %.1f of the best way's %.2f", s.name, med[linearGains], near, best)
		}
		if s.strip && s.curved && !(med[stripCurve] <= med[linearGains]/2) {
			t.Errorf("%s: median Delta E 2000 by the strip's curve = %.2f, want at most half of the linear gains' %.2f", s.name, med[stripCurve], med[linearGains])
		}
	}
	t.Log("Delta E 2000, median and 95th percentile\n" + strings.ReplaceAll(table, "\n", " |\n") + " |")
}

// TestLightWaysNumbers checks the numbers that were written down from memory.
//
// Source: both CATs give 1, 1, 1 for the equal-energy white, and Rec. 2020 for
// D65, by their definitions; chromaticities of D50 and D65 from CIE 15, to which
// the fit of the observer is good to some 0.003.
func TestLightWaysNumbers(t *testing.T) {
	for _, c := range []struct {
		cie.Matrix
		white cie.White
	}{{cat02, cie.White{X: 1, Y: 1, Z: 1}}, {cat16, cie.White{X: 1, Y: 1, Z: 1}}, {rec2020, cie.D65}} {
		u, v, w := c.Apply(c.white.X, c.white.Y, c.white.Z)
		if d := max(math.Abs(u-1), math.Abs(v-1), math.Abs(w-1)); !(d < 5e-4) {
			t.Errorf("%v of white = %.5f, %.5f, %.5f, want 1 ± 0.0005", c.Matrix, u, v, w)
		}
	}
	for _, c := range []struct{ kelvin, x, y float64 }{{5003, 0.3457, 0.3585}, {6504, 0.3127, 0.3290}} {
		var v [3]float64
		for k, s := range observer.s {
			for i, l := range daylightOf(c.kelvin) {
				v[k] += s[i] * l
			}
		}
		x, y := cie.XYZ{X: v[0], Y: v[1], Z: v[2]}.Chromaticity()
		if math.Abs(x-c.x) > 0.004 || math.Abs(y-c.y) > 0.004 {
			t.Errorf("daylight of %.0f K: x, y = %.4f, %.4f, want %.4f, %.4f ± 0.004", c.kelvin, x, y, c.x, c.y)
		}
	}
}
