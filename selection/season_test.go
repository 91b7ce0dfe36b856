package selection

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// How far seasons shift colours is estimated where check plants tell, and the errors of the
// shifts are as they say.
func TestSeasonVariance(t *testing.T) {
	runs := 6
	if os.Getenv("HUEWARD_FULL") == "1" {
		runs = 16
	}
	for _, weather := range []float64{0.3, 3} {
		rnd := rand.New(rand.NewPCG(43, uint64(weather)))
		mean, in, of := 0.0, 0.0, 0.0
		for range runs {
			g := newInfinite(rnd, 0.5)
			var shift [4]space.Vector
			for s := 1; s <= 3; s++ {
				shift[s] = space.Vector{weather * rnd.NormFloat64(), weather * rnd.NormFloat64(), weather * rnd.NormFloat64()}
				for i := range 12 {
					id := fmt.Sprintf("check %d-%d", s, i)
					g.plants = append(g.plants, genetics.Parents{ID: id, Group: "Old Gold", Inbreeding: 1})
					g.records = append(g.records, Record{Plant: id, Season: fmt.Sprint(s), Lab: cie.Lab{L: 70 + rnd.NormFloat64(),
						A: 30 + rnd.NormFloat64(), B: 70 + rnd.NormFloat64()}})
				}
			}
			for i := range g.records {
				s := g.records[i].Season[0] - '0'
				g.records[i].Lab = space.Lab(space.Plus(space.Of(g.records[i].Lab), shift[s]))
			}
			v, err := Predict(g.plants, g.records, &ValueOptions{AddsUp: runs == 6}) // to look for strong genes takes most of the time
			if err != nil {
				t.Fatal(err)
			}
			for s := 1; s <= 3; s++ {
				said, se := v.ShiftOf(fmt.Sprint(s))
				for k := range 3 {
					of++
					if math.Abs(said[k]-shift[s][k]) <= 2*se[k] {
						in++
					}
				}
			}
			mean += math.Sqrt((v.SeasonVar[0]+v.SeasonVar[1]+v.SeasonVar[2])/3) / float64(runs)
		}
		t.Logf("seasons scatter by %.1f: estimated %.2f; %.2f of shifts within two standard errors", weather, mean, in/of)
		if weather > 1 && (mean < 1.6 || mean > 3.6) || weather < 1 && (mean > 0.95 || mean < 0.3) {
			t.Errorf("seasons scatter by %.1f, estimated %.2f with a guess of 1", weather, mean)
		}
		if in/of < 0.85 {
			t.Errorf("seasons scatter by %.1f: %.2f of shifts lie within two standard errors, want about 0.95", weather, in/of)
		}
	}
}

// One white sport hardly moves what its family is predicted to pass on, and is told; a
// white that many are is a class, and is not.
func TestStray(t *testing.T) {
	rnd := rand.New(rand.NewPCG(44, 44))
	var plants []genetics.Parents
	var records []Record
	for f := range 5 {
		for i := range 12 {
			id := fmt.Sprintf("%c%d", 'a'+f, i)
			plants = append(plants, genetics.Parents{ID: id, Seed: fmt.Sprint("s", f), Pollen: fmt.Sprint("p", f)})
			records = append(records, Record{Plant: id, Season: "2025",
				Lab: space.Lab(space.Vector{72 + 2*rnd.NormFloat64(), 20 + 2*rnd.NormFloat64(),
					40 + 2*rnd.NormFloat64()})})
		}
		plants = append(plants, genetics.Parents{ID: fmt.Sprint("s", f)}, genetics.Parents{ID: fmt.Sprint("p", f)})
	}
	chance := func(records []Record) (float64, *Values) {
		v, err := Predict(plants, records, nil)
		if err != nil {
			t.Fatal(err)
		}
		p, err := Pairs(v, Target{Lab: cie.Lab{L: 72, A: 20, B: 40}, Within: 4}, &PairOptions{Candidates: []string{"a1", "a2"}, NoSelfs: true,
			MostInbreeding: 1})
		if err != nil {
			t.Fatal(err)
		}
		return p.Chosen[0].Predicted.ChanceWithin, v
	}
	before, v := chance(records)
	if len(v.Strays) > 0 {
		t.Errorf("strays %v among plants of one kind", v.Strays)
	}
	white := append([]Record{}, records...)
	white[5].Lab = cie.Lab{L: 95, A: 0, B: 3}
	after, v := chance(white)
	if fmt.Sprint(v.Strays) != "[a5]" || !strings.Contains(strings.Join(v.Warnings, "\n"), "plant a5 is Delta E ") {
		t.Errorf("strays %v, warnings %q", v.Strays, v.Warnings)
	}
	if math.Abs(after-before) > 0.05 {
		t.Errorf("chance of a pair %.2f, and with a white sister of theirs %.2f", before, after)
	}
	many := append([]Record{}, records...)
	for f := range 5 {
		for i := range 3 {
			many[f*12+i].Lab = cie.Lab{L: 95, A: 0, B: 3 + rnd.NormFloat64()}
		}
	}
	if _, v = chance(many); len(v.Strays) > 0 {
		t.Errorf("strays %v where a quarter of each family is white", v.Strays)
	}
}
