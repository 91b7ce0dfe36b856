package trend

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection"
)

// buff is the apricot that the lines are bred for.
var buff = selection.Target{Lab: cie.Lab{L: 76, A: 16, B: 34}, Within: 3}

// Realised heritability by hand: parents 4 lighter than their season, offspring 2
// lighter than that season, and again: 0.5; Falconer and Mackay 1996, chapter 11.
func TestTrendRealisedHeritability(t *testing.T) {
	target := selection.Target{Lab: cie.Lab{L: 90, A: 0, B: 0}}
	var plants []Grown
	add := func(season, n int, id string, l float64, parent string) {
		for i := range n {
			plants = append(plants, Grown{Seed: parent, Pollen: parent, Record: selection.Record{Plant: fmt.Sprint(id, i),
				Season: fmt.Sprint(season), Lab: cie.Lab{L: l}}})
		}
	}
	add(2021, 9, "a", 48, "") // mean 50 with the parents
	add(2021, 9, "b", 52, "")
	plants[0].Lab.L, plants[9].Lab.L = 46, 54 // mean still 50; b0 is 4 above
	add(2022, 20, "c", 52, "b0")
	plants[len(plants)-1].Lab.L, plants[len(plants)-2].Lab.L = 56, 48 // c19, 4 above
	add(2023, 20, "d", 54, "c19")
	r, err := Trend(target, plants, nil)
	if err != nil {
		t.Fatal(err)
	}
	h := r.RealisedHeritability
	if h == nil || math.Abs(h.Value-0.5) > 1e-6 || !(h.SE > 0 && h.SE < 0.5) {
		t.Fatalf("realised heritability %+v, want 0.5", h)
	}
	if d := r.Seasons[0].Differential; d == nil || math.Abs(d[0]-4) > 1e-9 || r.Seasons[0].Parents != 1 {
		t.Errorf("differential %v of %d parents, want 4 of 1", d, r.Seasons[0].Parents)
	}
	if d := r.Seasons[1].Response; d == nil || math.Abs(d[0]-2) > 1e-9 {
		t.Errorf("response %v, want 2", d)
	}
	if p := r.ResponsePerSeason; p == nil || !(p.Value > 0) {
		t.Errorf("response per season %+v, want above 0", p)
	}
	if s := r.SeasonsToTarget; s == nil || !(s.Value > 5 && s.Low > 0 && s.High > s.Value) {
		t.Errorf("seasons to go %+v", s)
	}
}

// A line that has come from far away to within the tolerance came nearer by what its distances say, wherever from the target
// the little is that is left. A held line has no realised heritability to doubt.
func TestTrendArrived(t *testing.T) {
	seen := []cie.Lab{{L: 65.7, A: 26.9, B: 50.3}, {L: 77.1, A: 16.2, B: 37.6}}
	target := selection.Target{Lab: cie.Lab{L: 76, A: 14, B: 38}, Within: 4}
	var plants []Grown
	for s, m := range seen {
		for i := range 8 {
			m.L += 1 - 2*float64(i%2) // and back
			plants = append(plants, Grown{Record: selection.Record{Plant: fmt.Sprintf("%d-%d", s, i), Season: fmt.Sprint(2025 + s), Lab: m}})
		}
	}
	r, err := Trend(target, plants, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := r.Seasons[0].DeltaE - r.Seasons[1].DeltaE
	if p := r.ResponsePerSeason; p == nil || math.Abs(p.Value-want) > 1e-6 || !(p.SE > 0) {
		t.Errorf("nearer by %+v a season, want %.1f", p, want)
	}
	if r, err = Trend(target, plants, &Options{Hold: true}); err != nil {
		t.Fatal(err)
	}
	for _, w := range r.Warnings {
		if strings.Contains(w, "realised") {
			t.Errorf("held: %s", w)
		}
	}
}

// Weather that lightens all flowers by 5 is taken off by the check plants.
func TestTrendCheckPlants(t *testing.T) {
	var plants []Grown
	rnd := rand.New(rand.NewPCG(16, 16))
	for s := range 3 {
		for i := range 20 {
			p := Grown{Record: selection.Record{Plant: fmt.Sprintf("%d-%d", s, i), Season: fmt.Sprint(2024 + s),
				Lab: cie.Lab{L: 60 + 5*float64(s) + rnd.NormFloat64(), A: 20 + rnd.NormFloat64(), B: 40 + rnd.NormFloat64()}}}
			p.Seed, p.Pollen = "x", "y"
			if i < 6 {
				p.Seed, p.Pollen, p.Group, p.Lab.B = "", "", "Old Gold", 50+rnd.NormFloat64()
			}
			plants = append(plants, p)
		}
	}
	r, err := Trend(selection.Target{Lab: cie.Lab{L: 80, A: 20, B: 40}}, plants, nil)
	if err != nil {
		t.Fatal(err)
	}
	if r.Moving || r.Seasons[1].Plants != 14 || r.Seasons[0].Plants != 14 || r.Seasons[2].Check == nil {
		t.Errorf("moving %v with risk %.3f; %d and %d plants", r.Moving, r.Risk, r.Seasons[0].Plants, r.Seasons[1].Plants)
	}
	if d := (*r.Seasons[0].Response)[0]; math.Abs(d) > 1.5 {
		t.Errorf("response in L* %.2f, want none beside weather", d)
	}
}

func TestTrendAwkward(t *testing.T) {
	one := Grown{Record: selection.Record{Plant: "a", Season: "2025", Lab: cie.Lab{L: 60}}}
	later := Grown{Record: selection.Record{Plant: "b", Season: "2027", Lab: cie.Lab{L: 60}}}
	bad := one
	bad.Lab.A = math.NaN()
	if _, err := Trend(buff, nil, nil); !errors.Is(err, selection.ErrNoRecords) {
		t.Errorf("no plants: %v", err)
	}
	if _, err := Trend(buff, []Grown{bad}, nil); err == nil {
		t.Error("a colour that is none: no error")
	}
	if _, err := Trend(selection.Target{Within: -1}, []Grown{one}, nil); err == nil {
		t.Error("a target that is none: no error")
	}
	for name, plants := range map[string][]Grown{"one plant": {one}, "two seasons of one": {one, later},
		"all equal": {one, one, one, one, one, one, one, one, one, later, later}} {
		r, err := Trend(buff, plants, &Options{Hold: true})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if r.Moving || len(r.OffTypes) > 0 {
			t.Errorf("%s: moving %v, off-types %v", name, r.Moving, r.OffTypes)
		}
		for _, s := range r.Seasons {
			if math.IsNaN(s.DeltaE + s.Low + s.High + s.SE) {
				t.Errorf("%s: %+v", name, s)
			}
		}
		if len(r.Warnings) == 0 {
			t.Errorf("%s: no warning", name)
		}
	}
}
