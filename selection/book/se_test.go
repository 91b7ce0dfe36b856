package book

import (
	"math"
	"math/rand/v2"
	"testing"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/selection"
)

// A standard error that is known as Delta E alone counts: spread over L*, a*, b* it makes
// that Delta E, and of two readings of a plant the surer one leads.
func TestErrorAloneCounts(t *testing.T) {
	lab := cie.Lab{L: 72, A: 20, B: 40}
	reading := func(l, se float64) Reading {
		c := colorimg.Triple{l, lab.A, lab.B}
		return Reading{Plant: "P-1", Source: "colorimeter", Measured: colorimg.Reading{Status: colorimg.OK, Lab: &c,
			SE: colorimg.Errors{Precision: se}}}
	}
	r := reading(72, 3)
	o, _ := r.Observation()
	rnd := rand.New(rand.NewPCG(8, 8))
	sum := 0.0
	const draws = 20000
	for range draws {
		d := cie.DeltaE2000(lab, cie.Lab{L: lab.L + o.SE[0]*rnd.NormFloat64(), A: lab.A + o.SE[1]*rnd.NormFloat64(),
			B: lab.B + o.SE[2]*rnd.NormFloat64()})
		sum += d * d
	}
	if got := math.Sqrt(sum / draws); math.Abs(got-3) > 0.1 {
		t.Errorf("an error of Delta E 3 is spread so that it makes %.2f", got)
	}
	own := colorimg.Triple{1, 2, 3}
	r.Measured.SELab = &own
	if o, _ = r.Observation(); o.SE != own {
		t.Errorf("errors of L*, a*, b* %v, want the reading's own", o.SE)
	}
	two := Observations([]Reading{reading(60, 8), reading(80, 0.3)})
	ranked, err := selection.Rank(selection.Target{Lab: lab}, two, nil)
	if err != nil {
		t.Fatal(err)
	}
	if l := ranked.Plants[0].Lab.L; l < 72 {
		t.Errorf("of 60 with an error of 8 and 80 with 0.3 comes %.1f, want it nearer 80", l)
	}
}
