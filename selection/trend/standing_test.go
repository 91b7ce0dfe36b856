package trend

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"hueward/colorimg/cie"
	"hueward/selection"
	"hueward/selection/space"
)

// standing are seasons of a line with n plants each, and of a check variety with so many
// plants beside it; the weather of each season is shared.
type standing struct {
	seasons, n, checks int
	weather            float64
	move               space.Vector // of the line, a season
}

func (c standing) plants(rnd *rand.Rand) []Grown {
	var out []Grown
	for s := range c.seasons {
		w := space.Vector{c.weather * rnd.NormFloat64(), c.weather * rnd.NormFloat64(), c.weather * rnd.NormFloat64()}
		for i := range c.n + c.checks {
			p := Grown{Record: selection.Record{Plant: fmt.Sprintf("%d-%d", s, i), Season: fmt.Sprint(2018 + s)}}
			x := space.Plus(space.Plus(space.Of(buff.Lab), w), space.Vector{2 * rnd.NormFloat64(), 1.5 * rnd.NormFloat64(), 3 * rnd.NormFloat64()})
			for k := range x {
				x[k] += float64(s) * c.move[k]
			}
			if i >= c.n {
				x = space.Plus(w, space.Vector{60 + rnd.NormFloat64(), 30 + rnd.NormFloat64(), 55 + rnd.NormFloat64()})
				p.Group = "Old Gold"
			}
			p.Lab = space.Lab(x)
			out = append(out, p)
		}
	}
	return out
}

// rates are the shares of lines that are said to move, and whose chart calls them out in
// the last season, and in any.
func (c standing) rates(t *testing.T, seed uint64, runs int) (moving, out, ever float64) {
	t.Helper()
	rnd := rand.New(rand.NewPCG(seed, 33))
	for range runs {
		plants := c.plants(rnd)
		anytime := 0.0
		for s := 2; s <= c.seasons; s++ {
			if s < c.seasons && os.Getenv("HUEWARD_FULL") != "1" {
				continue
			}
			var some []Grown
			for _, p := range plants {
				if p.Season < fmt.Sprint(2018+s) {
					some = append(some, p)
				}
			}
			r, err := Trend(buff, some, &Options{Hold: true})
			if err != nil {
				t.Fatal(err)
			}
			called := 0.0
			if r.EWMA != nil && r.EWMA.Out {
				called, anytime = 1, 1
			}
			if s == c.seasons {
				out += called
				if r.Moving {
					moving++
				}
			}
		}
		ever += anytime
	}
	n := float64(runs)
	return moving / n, out / n, ever / n
}

// Of lines that stand for eight seasons at most 6 in 100 are said to move, or are ever
// called out, however strong the weather, with check plants and without. A line that
// moves by Delta E 1 a season is told. Seeds are others than those that the method
// was tried with.
func TestStandingLines(t *testing.T) {
	runs := 60
	if os.Getenv("HUEWARD_FULL") == "1" {
		runs = 300
	}
	move := space.Vector{0.9, -0.7, 0.9}
	if d := cie.DeltaE2000(buff.Lab, space.Lab(space.Plus(space.Of(buff.Lab), move))); math.Abs(d-1) > 0.1 {
		t.Fatalf("the move is Delta E %.2f a season, want 1", d)
	}
	for _, c := range []struct {
		n, checks int
		weather   float64
		told      float64 // of moving lines, at least
	}{
		{20, 0, 0, 0.95}, {20, 0, 1, 0.9}, {20, 0, 2, 0.5}, {20, 0, 3, 0.25},
		{20, 5, 0, 0.95}, {20, 5, 1, 0.95}, {20, 5, 2, 0.95}, {20, 5, 3, 0.95},
		{8, 2, 3, 0.8},
	} {
		t.Run(fmt.Sprintf("%d plants, %d check plants, weather %.0f", c.n, c.checks, c.weather), func(t *testing.T) {
			t.Parallel()
			s := standing{seasons: 8, n: c.n, checks: c.checks, weather: c.weather}
			moving, out, ever := s.rates(t, 1001, runs)
			s.move = move
			told, called, _ := s.rates(t, 1002, runs)
			t.Logf("standing: said to move %.3f, called out in the last season %.3f, in any %.3f; moving by Delta E 1 a season: told %.2f, "+
				"called out %.2f", moving, out, ever, told, called)
			most := 0.06 + 2.5*math.Sqrt(0.06*0.94/float64(runs))
			if moving > most || ever > most {
				t.Errorf("standing lines: %.3f said to move, %.3f called out, want at most %.3f", moving, ever, most)
			}
			if told < c.told {
				t.Errorf("of lines that move, %.2f are told, want at least %.2f", told, c.told)
			}
		})
	}
}

// Two seasons without anything grown in both tell nothing of a line's movement, and that
// is said, with what would tell; seed kept back and sown again tells, whatever the weather.
func TestTrendCannotTell(t *testing.T) {
	rnd := rand.New(rand.NewPCG(41, 41))
	var plants []Grown
	grow := func(n int, season, seed, pollen string, l float64) {
		for range n {
			plants = append(plants, Grown{Seed: seed, Pollen: pollen, Record: selection.Record{Plant: fmt.Sprint(len(plants)), Season: season,
				Lab: space.Lab(space.Vector{l + rnd.NormFloat64(), 20 + rnd.NormFloat64(), 40 + rnd.NormFloat64()})}})
		}
	}
	grow(15, "2024", "A", "B", 60)
	grow(15, "2025", "0", "1", 68)
	r, err := Trend(buff, plants, nil)
	if err != nil {
		t.Fatal(err)
	}
	said := strings.Join(r.Warnings, "\n")
	if r.Moving || !math.IsNaN(r.Risk) || r.ToldBy != ByNothing || !strings.Contains(said,
		"cannot be told from weather; grow a few plants of one variety") || !strings.Contains(said, "seed kept back") {
		t.Errorf("moving %v, risk %v, told by %q: %s", r.Moving, r.Risk, r.ToldBy, said)
	}
	if r.SeasonsToTarget != nil {
		t.Errorf("seasons to the target %+v, though nothing tells the pace", r.SeasonsToTarget)
	}
	grow(10, "2025", "B", "A", 63) // the first season's cross, 3 lighter by weather
	if r, err = Trend(buff, plants, nil); err != nil {
		t.Fatal(err)
	}
	if !r.Moving || r.ToldBy != ByKin || r.Seasons[1].Plants != 15 {
		t.Errorf("moving %v by %q, %d plants in the second season", r.Moving, r.ToldBy, r.Seasons[1].Plants)
	}
	if d := (*r.Seasons[0].Response)[0]; math.Abs(d-5) > 1.2 {
		t.Errorf("response in L* %.2f, want about 5 of the 8, the weather apart", d)
	}
}

// A check variety never counts as the line, nor in its first season; a variety whose
// plants became parents does, in that season.
func TestTrendWhoseSeason(t *testing.T) {
	var plants []Grown
	grow := func(n int, season, id, group, seed string, l float64) {
		for i := range n {
			plants = append(plants, Grown{Seed: seed, Pollen: seed, Group: group, Record: selection.Record{Plant: fmt.Sprint(id, i), Season: season,
				Lab: cie.Lab{L: l + float64(i%3), A: 20, B: 40}}})
		}
	}
	grow(9, "2024", "a", "orange", "", 60)
	grow(6, "2024", "k", "Old Gold", "", 30)
	grow(9, "2025", "b", "", "a1", 61)
	grow(6, "2025", "l", "Old Gold", "", 31)
	grow(6, "2026", "m", "orange", "", 63)
	grow(9, "2026", "c", "", "b1", 63)
	r, err := Trend(buff, plants, nil)
	if err != nil {
		t.Fatal(err)
	}
	for s, want := range []int{9, 9, 9} {
		if r.Seasons[s].Plants != want || math.Abs(r.Seasons[s].Mean.L-[]float64{61, 62, 64}[s]) > 1e-9 {
			t.Errorf("season %d has %d plants of mean L* %.1f", s, r.Seasons[s].Plants, r.Seasons[s].Mean.L)
		}
	}
	if d := (*r.Seasons[0].Response)[0]; math.Abs(d) > 1e-6 {
		t.Errorf("response of the first season %.2f, want 0: the check plants changed as much", d)
	}
}

// A realised heritability below 0 is not shown: that it cannot be estimated is said.
func TestNoNegativeHeritability(t *testing.T) {
	rnd := rand.New(rand.NewPCG(42, 42))
	negative, shown := 0, 0
	for range 60 {
		var plants []Grown
		for s := range 3 {
			w := 3 * rnd.NormFloat64()
			for i := range 12 {
				p := Grown{Record: selection.Record{Plant: fmt.Sprintf("%d-%d", s, i), Season: fmt.Sprint(2020 + s),
					Lab: cie.Lab{L: 60 + w + 2*rnd.NormFloat64(), A: 20 + rnd.NormFloat64(), B: 40 + rnd.NormFloat64()}}}
				if s > 0 {
					p.Seed, p.Pollen = fmt.Sprintf("%d-%d", s-1, i%4), fmt.Sprintf("%d-%d", s-1, (i+1)%4)
				}
				plants = append(plants, p)
			}
		}
		r, err := Trend(selection.Target{Lab: cie.Lab{L: 85, A: 20, B: 40}}, plants, nil)
		if err != nil {
			t.Fatal(err)
		}
		if h := r.RealisedHeritability; h != nil {
			shown++
			if h.Value < 0 {
				t.Errorf("realised heritability %.2f", h.Value)
			}
		} else if strings.Contains(strings.Join(r.Warnings, "\n"), "the realised heritability cannot be estimated") {
			negative++
		}
	}
	if negative == 0 || shown == 0 {
		t.Errorf("%d times said that it cannot be estimated, %d times shown; want both", negative, shown)
	}
}
