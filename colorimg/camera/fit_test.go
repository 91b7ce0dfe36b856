package camera

import (
	"encoding/csv"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/patches"
)

// errorsOf is how far petals are off in the photos under all lights.
func errorsOf(p *phone, m *Model, petals []cie.Lab, late bool) Errors {
	var v []float64
	for _, light := range lights {
		for _, c := range petals {
			v = append(v, cie.DeltaE2000(c, p.measure(m, c, light, late)))
		}
	}
	return summary(v)
}

// Petals in other photos of the phone, under other lights: the median asked
// for is 2.5, and no more than half of what the grey card alone leaves. The
// trueness told must not be better than what is reached.
func TestFitPhones(t *testing.T) {
	for name, p := range phones {
		t.Run(name, func(t *testing.T) {
			m := learn(t, p)
			card, with, late := errorsOf(p, nil, petals, false), errorsOf(p, m, petals, false), errorsOf(p, m, petals, true)
			t.Logf("%s: card alone %.2f, model %.2f (median; worst %.2f), matrix after the gains %.2f; leave-one-out %.2f, trueness %.2f",
				m, card.Median, with.Median, with.Worst, late.Median, m.Error.Mean, m.Trueness())
			if with.Median > 2.5 || with.Median > card.Median/2+0.05 {
				t.Errorf("petals' median error = %.2f, want at most 2.5 and half of the card's %.2f", with.Median, card.Median)
			}
			if with.RMS > m.Trueness() {
				t.Errorf("petals' root mean square error = %.2f, but the trueness told is %.2f", with.RMS, m.Trueness())
			}
			if with.Mean > late.Mean+0.05 {
				t.Errorf("Apply before the card's gains leaves %.2f, after them %.2f; the package comment says before", with.Mean,
					late.Mean)
			}
			// More vivid than any patch: no leap. What the photo cuts off
			// cannot be known; the card alone is as wrong there.
			before, after := errorsOf(p, nil, vivid, false), errorsOf(p, m, vivid, false)
			if after.Worst > before.Worst+4 || after.Median > before.Median+0.5 {
				t.Errorf("vivid petals' median and worst error = %.2f, %.2f, with the card alone %.2f, %.2f", after.Median, after.Worst,
					before.Median, before.Worst)
			}
		})
	}
}

func TestFitKinds(t *testing.T) {
	wide := phones["saturation"].with(cie.DisplayP3)
	for name, c := range map[string]struct {
		p     *phone
		kind  Kind
		curve bool
	}{
		"a camera that is right":         {phones["plain"], Gains, false},
		"contrast alone":                 {phones["contrast"], Gains, true},
		"linear saturation":              {wide, Matrix, true},
		"crosstalk":                      {phones["crosstalk"], Matrix, true},
		"saturation of encoded channels": {phones["late saturation"], RootPolynomial, true},
		"the same with much less of that": {&phone{space: cie.DisplayP3, sat: 1.2, late: 1.02, curve: bright(0.9, 0.3), noise: 0.02,
			rounding: true}, Matrix, true},
	} {
		m := learn(t, c.p)
		if m.Kind != c.kind || (len(m.Curve) > 0) != c.curve {
			t.Errorf("%s: chosen %s, curve %.2f, want %s, curve %v\n%+v", name, m.Kind, m.Curve, c.kind, c.curve, m.Candidates)
		}
	}
}

func (p *phone) with(space cie.Space) *phone {
	q := *p
	q.space = space
	return &q
}

// A right camera's model changes nothing; a linear phone's saturation comes
// back as the matrix that undoes it, worked out by hand.
func TestFitKnown(t *testing.T) {
	m := learn(t, phones["plain"])
	for _, v := range [][3]float64{{0.1, 0.2, 0.3}, {0, 0, 0}, {1.2, -0.1, 0.5}} {
		if got := m.Apply(m.Uncurve(v)); got != v {
			t.Errorf("a right camera: %v becomes %v", v, got)
		}
	}
	// v' = y + k (v − y) with y = w·v is undone by v = y + (v' − y) / k, as w·v' = y.
	p := phones["saturation"].with(cie.DisplayP3)
	m = learn(t, p)
	in := [3]float64{0.3, 0.5, 0.2} // Display P3
	y := 0.2126*in[0] + 0.7152*in[1] + 0.0722*in[2]
	got := apply(&toP3, m.Apply(apply(&fromP3, in)))
	for c := range in {
		if want := y + (in[c]-y)/p.sat; math.Abs(got[c]-want) > 0.005 {
			t.Errorf("channel %d = %.4f, want %.4f ± 0.005", c, got[c], want)
		}
	}
}

// chart24 is a real camera's photo of a chart; see the file for its source.
func chart24(t testing.TB) []patches.Sample {
	t.Helper()
	f := must.Have(os.Open("testdata/chart24.csv"))(t)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows := must.Have(r.ReadAll())(t)
	var s []patches.Sample
	for i, row := range rows {
		var v [6]float64
		for k := range v {
			v[k] = must.Have(strconv.ParseFloat(row[k], 64))(t)
		}
		s = append(s, patches.Sample{ID: strconv.Itoa(i + 1), RGB: [3]float64(v[:3]),
			Ref: cie.SRGB.XYZ(cie.RGB{v[3], v[4], v[5]}), Neutral: i >= 18})
	}
	return s
}

// On a real camera's chart the matrix is at least as near as plain least
// squares, which another program has solved for the same numbers.
//
// Source: colour-science/colour, the test of
// matrix_colour_correction_Finlayson2015 with degree 1, at 065e7d6.
func TestFitAgainstLeastSquares(t *testing.T) {
	s := chart24(t)
	leastSquares := cie.Matrix{{0.69822661, 0.03071629, 0.16210422}, {0.06893498, 0.67579611, 0.16430385},
		{-0.06314956, 0.09212471, 0.97134152}}
	var theirs []float64
	for _, p := range s {
		v := apply(&leastSquares, p.RGB)
		theirs = append(theirs, cie.DeltaE2000(p.Ref.Lab(), cie.SRGB.XYZ(v).Lab()))
	}
	data, _ := usable(s, cie.SRGB.Name)
	lab := make([]cie.Lab, len(data))
	mean := func(f form) float64 {
		tr := trial{form: f, space: cie.SRGB.Name}
		tr.fit(data, 60)
		tr.predict(tr.x, data, anchor(data, -1), lab)
		var e []float64
		for i, d := range data {
			e = append(e, cie.DeltaE2000(d.ref, lab[i]))
		}
		return summary(e).Mean
	}
	matrix, root := mean(form{false, 1}), mean(form{false, 2})
	t.Logf("mean Delta E 2000: plain least squares %.2f, matrix %.2f, root-polynomial %.2f", summary(theirs).Mean, matrix, root)
	if matrix > summary(theirs).Mean || root > matrix {
		t.Errorf("mean Delta E 2000 of the matrix = %.2f, of the root-polynomial = %.2f, want at most %.2f and falling", matrix, root,
			summary(theirs).Mean)
	}
	m := must.Have(Fit(s, nil))(t)
	for _, c := range m.Candidates {
		t.Logf("leave-one-out: %s %.2f", c.Name, c.Error.Mean)
	}
	if m.Error.Mean > 0.6*m.Candidates[0].Error.Mean {
		t.Errorf("leave-one-out: card alone %.2f, %s %.2f, want at most 0.6 of it", m.Candidates[0].Error.Mean, m, m.Error.Mean)
	}
}

// The order of the patches does not matter, and neither does exposure.
func TestFitOrder(t *testing.T) {
	s := chart24(t)
	want := must.Have(Fit(s, nil))(t)
	r := rand.New(rand.NewPCG(3, 4))
	r.Shuffle(len(s), func(i, j int) { s[i], s[j] = s[j], s[i] })
	got := must.Have(Fit(s, nil))(t)
	near := cmpopts.EquateApprox(0, 0.002)
	if d := cmp.Diff(want, got, near, cmpopts.SortSlices(func(a, b PatchError) bool { return a.ID < b.ID }),
		cmpopts.SortSlices(func(a, b string) bool { return a < b })); d != "" {
		t.Errorf("shuffled (-want +got):\n%s", d)
	}
}

func TestFitAwkward(t *testing.T) {
	p := phones["usual"]
	whole := func() []patches.Sample { return p.chartPhoto(chartLight, rand.New(rand.NewPCG(1, 2))) }
	fit := func(s []patches.Sample) (*Model, error) { return Fit(s, nil) }
	for name, c := range map[string]struct {
		s    []patches.Sample
		want error
	}{
		"nothing":       {nil, ErrFew},
		"three patches": {whole()[19:22], ErrFew},
		"no grey":       {whole()[:18], ErrNoGray},
	} {
		if _, err := fit(c.s); !errors.Is(err, c.want) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: Fit = %v, want %v", name, err, c.want)
		}
	}
	// Two greys: no curve is tried. One grey: it scales, and cannot be left out.
	for n := 1; n <= 2; n++ {
		m := must.Have(fit(whole()[:18+n]))(t)
		if len(m.Curve) > 0 || len(m.Candidates) > 3 || len(m.Errors) != 18+n-map[int]int{1: 1}[n] {
			t.Errorf("%d greys: curve %v, %d candidates, %d errors", n, m.Curve, len(m.Candidates), len(m.Errors))
		}
	}
	// Patches that cannot be read are left out and named; the rest is used.
	s := whole()
	s[0].Clipped = 0.5
	s[1].RGB = [3]float64{}
	s[2].RGB[1] = math.NaN()
	s[3].Ref = cie.XYZ{}
	m := must.Have(fit(s))(t)
	want := []LeftOut{{"1", "too bright to read"}, {"2", "too dark to read"}, {"3", "not a number"}, {"4", "black by its file"}}
	if d := cmp.Diff(want, m.LeftOut); d != "" || m.Patches != 20 {
		t.Errorf("%d patches, want 20; left out (-want +got):\n%s", m.Patches, d)
	}
	// All patches alike; a photo of one colour throughout.
	for i := range s {
		s[i] = patches.Sample{ID: s[i].ID, RGB: [3]float64{0.2, 0.2, 0.2},
			Ref: cie.XYZ{X: 0.18 * cie.D65.X, Y: 0.18, Z: 0.18 * cie.D65.Z}, Neutral: true}
	}
	if m, err := fit(s); err != nil || m.Kind != Gains || m.Error.Worst > 0.01 {
		t.Errorf("all patches alike: %v, %v", m, err)
	}
	s = whole()
	for i := range s {
		s[i].RGB = [3]float64{0.2, 0.2, 0.2}
	}
	if m, err := fit(s); err != nil || m.Error.Mean < 10 {
		t.Errorf("a picture of one colour: %v, %v, want a large error told", m, err)
	}
	// A patch whose colour in the file is another's: the error points at it.
	s = phones["usual, wide"].chartPhoto(chartLight, rand.New(rand.NewPCG(1, 2)))
	s[1].Ref = s[13].Ref
	m = must.Have(fit(s))(t)
	worst := m.Errors[0]
	for _, e := range m.Errors {
		if e.DeltaE > worst.DeltaE {
			worst = e
		}
	}
	if worst.ID != "2" {
		t.Errorf("a wrong reference at patch 2: the worst is %+v", worst)
	}
}

func BenchmarkFit24(b *testing.B) {
	s := chart24(b)
	for b.Loop() {
		must.Have(Fit(s, nil))(b)
	}
}
