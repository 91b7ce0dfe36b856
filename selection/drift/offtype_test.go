package drift

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"
)

// line are n readings of one kind, each with a standard error that is known.
func line(rnd *rand.Rand, n int, se func(i int) float64) []Reading {
	out := make([]Reading, n)
	for i := range out {
		e := se(i)
		for k, sd := range [3]float64{2, 1.5, 3} {
			out[i].Color[k] = sd*rnd.NormFloat64() + e*rnd.NormFloat64()
			out[i].Cov[k][k] = e * e
		}
	}
	return out
}

func runs(few, many int) int {
	if os.Getenv("HUEWARD_FULL") == "1" {
		return many
	}
	return few
}

// Of lines without off-types 5 in 100 have one named, whatever their readings' errors:
// all alike, one noisy one in ten, one flagged one with an error of 12.
func TestOffTypesFamilyRisk(t *testing.T) {
	for name, se := range map[string]func(i int) float64{
		"readings alike":                 func(int) float64 { return 1 },
		"sure readings":                  func(int) float64 { return 0 },
		"every tenth with an error of 8": func(i int) float64 { return 1 + 7*float64((i%10)/9) },
		"the first with an error of 12":  func(i int) float64 { return 1 + 11*math.Max(0, 1-float64(i)) },
		"errors from 1 to 3":             func(i int) float64 { return 1 + float64(i%3) },
	} {
		for _, n := range []int{8, 20, 50, 150} {
			t.Run(fmt.Sprint(name, ", ", n), func(t *testing.T) {
				t.Parallel()
				rnd := rand.New(rand.NewPCG(uint64(n), 2002))
				said, of := 0.0, runs(80, 1500)
				for range of {
					if odd, _ := OffTypes(line(rnd, n, se)); len(odd) > 0 {
						said += 1 / float64(of)
					}
				}
				t.Logf("an off-type named in %.3f of lines", said)
				if most := 0.06 + 2.5*math.Sqrt(0.06*0.94/float64(of)); said > most {
					t.Errorf("an off-type named in %.3f of lines without any, want 0.05, at most %.3f", said, most)
				}
			})
		}
	}
}

// Off-types do not hide each other: five of 50 that lie five standard deviations away, in
// one direction or in several, are found as often as one of 50 is, nearly; ten at eight
// are found.
func TestOffTypesTogether(t *testing.T) {
	for _, c := range []struct {
		odd      int
		away     float64
		together bool
		least    float64
	}{{1, 5, false, 0.6}, {5, 5, false, 0.6}, {5, 5, true, 0.5}, {5, 7, true, 0.95}, {10, 8, true, 0.95}} {
		rnd := rand.New(rand.NewPCG(uint64(c.odd), 2003))
		found, wrong, of := 0.0, 0.0, runs(100, 1000)
		for range of {
			readings := line(rnd, 50, func(int) float64 { return 0 })
			var way [3]float64
			for i := range c.odd {
				if i == 0 || !c.together {
					way = [3]float64{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()}
					s := c.away / math.Sqrt(way[0]*way[0]+way[1]*way[1]+way[2]*way[2])
					way = [3]float64{2 * s * way[0], 1.5 * s * way[1], 3 * s * way[2]}
				}
				for k := range 3 {
					readings[i].Color[k] += way[k]
				}
			}
			odd, _ := OffTypes(readings)
			bad := 0.0
			for _, o := range odd {
				if o.At < c.odd {
					found += 1 / float64(of*c.odd)
				} else {
					bad = 1
				}
			}
			wrong += bad / float64(of)
		}
		t.Logf("%d of 50 at %.0f standard deviations, together %v: %.2f found; lines with another named %.3f", c.odd, c.away, c.together, found,
			wrong)
		if found < c.least || wrong > 0.12 {
			t.Errorf("%d of 50 at %.0f standard deviations: %.2f found, want %.2f; another named in %.3f of lines", c.odd, c.away, found, c.least,
				wrong)
		}
	}
}

// Fewer than eight, equal, or unknown readings name nothing, and nothing is not a number.
func TestOffTypesAwkward(t *testing.T) {
	same := make([]Reading, 12)
	for name, r := range map[string][]Reading{"none": nil, "seven": line(rand.New(rand.NewPCG(1, 1)), 7, func(int) float64 { return 0 }),
		"equal": same} {
		if odd, _ := OffTypes(r); len(odd) > 0 {
			t.Errorf("%s: %v", name, odd)
		}
	}
	same[3].Color[0] = 20
	if odd, _ := OffTypes(same); len(odd) != 1 || odd[0].At != 3 || math.IsNaN(odd[0].Distance) {
		t.Errorf("one of twelve equal readings 20 away: %v", odd)
	}
}

// Of families that scatter normally hardly any reading is named apart; a far one is, and
// its error grows so that it counts for less the farther out it is.
func TestApart(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 2004))
	named, of := 0.0, runs(60, 600)
	families := make([]int, 60)
	for i := range families {
		families[i] = i / 6
	}
	for range of {
		r := line(rnd, 60, func(int) float64 { return 1 })
		for i := range r {
			r[i].Color[0] += float64(families[i]) * 4
			if families[i]%3 == 0 { // some families scatter more than others
				r[i].Color[1] *= 3
			}
		}
		if len(Apart(r, families)) > 0 {
			named += 1 / float64(of)
		}
	}
	// 0.01 is aimed at, and held where families scatter alike; it comes to about 0.08 where a
	// third of them scatter three times as much.
	if most := 0.09 + 2.5*math.Sqrt(0.09/float64(of)); !(named <= most) {
		t.Errorf("a reading is named apart in %.3f of books, want 0.09 at most", named)
	}
	r := line(rnd, 60, func(int) float64 { return 1 })
	r[8].Color[2] = 30
	near := Apart(r, families)
	r[8].Color[2] = 60
	far := Apart(r, families)
	if len(near) != 1 || len(far) != 1 || near[0].At != 8 || !(far[0].Cov[2][2]/60 > near[0].Cov[2][2]/30) {
		t.Errorf("apart: %v, and farther out %v", near, far)
	}
}
