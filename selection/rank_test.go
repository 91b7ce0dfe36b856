package selection

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"hueward/colorimg/cie"
	"hueward/selection/space"
)

// buff is the apricot that the invented marigold line is moved toward.
var buff = Target{Lab: cie.Lab{L: 76, A: 16, B: 34}, Within: 3}

// season draws a season of plants around the target, photos each, with a
// photo scatter of sd, and returns their true colours too.
func season(rnd *rand.Rand, plants, photos int, spread, sd float64) (obs []Observation, truth map[string]cie.Lab) {
	truth = map[string]cie.Lab{}
	for i := range plants {
		id := fmt.Sprintf("M-%d", i+1)
		c := space.Plus(space.Of(buff.Lab), space.Vector{spread * rnd.NormFloat64(), spread * rnd.NormFloat64(), spread * rnd.NormFloat64()})
		truth[id] = space.Lab(c)
		for j := range photos {
			obs = append(obs, Observation{
				Plant: id, Photo: fmt.Sprintf("%s_%d.jpg", id, j+1), SE: [3]float64{0.3, 0.3, 0.3},
				Lab: space.Lab(space.Plus(c, space.Vector{sd * rnd.NormFloat64(), sd * rnd.NormFloat64(), sd * rnd.NormFloat64()})),
			})
		}
	}
	return obs, truth
}

func mustRank(t testing.TB, obs []Observation, opt *Options) *Ranking {
	t.Helper()
	r, err := Rank(buff, obs, opt)
	if err != nil {
		t.Fatalf("Rank: %v", err)
	}
	return r
}

func TestRankOrderAndAdvice(t *testing.T) {
	t.Parallel()
	at := func(plant string, dl float64) Observation {
		return Observation{Plant: plant, Photo: plant + ".jpg", Lab: cie.Lab{L: buff.Lab.L + dl, A: buff.Lab.A, B: buff.Lab.B}}
	}
	obs := []Observation{at("M-10", 2), at("M-9", 2), at("M-2", -12), at("M-1", 6), at("M-4", 15), at("M-5", 18), at("M-6", -25),
		at("M-7", 30)}
	obs = append(obs, Observation{Plant: "M-3", Photo: "M-3.jpg", Refused: true, Reason: "no grey card found"})
	r := mustRank(t, obs, &Options{Plants: []string{"M-8", "M-1"}})

	var got []string
	for _, p := range r.Plants {
		got = append(got, fmt.Sprintf("%d %s %s: %s", p.Rank, p.ID, p.Advice, p.Why))
	}
	want := []string{
		"1 M-9 keep: within the tolerance, among the nearest 2 of 8", // ties by id, 9 before 10
		"2 M-10 keep: within the tolerance, among the nearest 2 of 8",
		"3 M-1 reserve: 3rd of 8, next after the 2 kept",
		"4 M-2 reserve: 4th of 8, next after the 2 kept",
		"5 M-4 pass: 5th of 8",
		"6 M-5 pass: 6th of 8",
		"7 M-7 pass: 7th of 8",
		"8 M-6 pass: 8th of 8",
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Errorf("ranking (-want +got):\n%s", d)
	}
	if d := cmp.Diff([]Unmeasured{{"M-3", 1, "its photo was refused: no grey card found"}, {"M-8", 0, "no photo"}}, r.Unmeasured); d != "" {
		t.Errorf("unmeasured (-want +got):\n%s", d)
	}
}

func TestRankKeep(t *testing.T) {
	t.Parallel()
	obs, _ := season(rand.New(rand.NewPCG(1, 1)), 24, 1, 8, 0.5)
	for _, c := range []struct {
		name string
		opt  Options
		n    int // plants
		want int
	}{
		{"a quarter", Options{}, 24, 6},
		{"rounded up", Options{}, 21, 6},
		{"at least two", Options{}, 5, 2},
		{"the only one", Options{}, 1, 1},
		{"a number", Options{Keep: 9}, 24, 9},
		{"more than there are", Options{Keep: 30}, 24, 24},
	} {
		r := mustRank(t, obs[:c.n], &c.opt)
		kept := 0
		for _, p := range r.Plants {
			if p.Advice == Keep {
				kept++
			}
		}
		if r.Keep != c.want || kept != c.want {
			t.Errorf("%s: Keep = %d and %d plants advised, want %d", c.name, r.Keep, kept, c.want)
		}
	}
}

func TestRankRefusesNonsense(t *testing.T) {
	t.Parallel()
	ok := Observation{Plant: "M-1", Photo: "a.jpg", Lab: buff.Lab}
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name   string
		target Target
		obs    []Observation
		opt    *Options
		want   string
	}{
		{"NaN colour", buff, []Observation{ok, {Plant: "M-7", Photo: "b.jpg", Lab: cie.Lab{L: 1, A: nan}}}, nil,
			`photo "b.jpg" of plant "M-7": a* is NaN`},
		{"infinite colour", buff, []Observation{{Plant: "M-7", Lab: cie.Lab{L: inf}}}, nil, `plant "M-7": L* is +Inf`},
		{"no colour at all", buff, []Observation{{Plant: "M-7", Lab: cie.Lab{L: 1e300}}}, nil, `plant "M-7": L* is 1e+300`},
		{"NaN error", buff, []Observation{{Plant: "M-7", SE: [3]float64{0, 0, nan}}}, nil, "standard error of b* is NaN"},
		{"negative error", buff, []Observation{{Plant: "M-7", SE: [3]float64{-1, 0, 0}}}, nil, "standard error of L* is -1"},
		{"NaN trueness", buff, []Observation{{Plant: "M-7", Trueness: nan}}, nil, "standard error NaN Delta E"},
		{"no plant", buff, []Observation{{Photo: "b.jpg"}}, nil, `photo "b.jpg": no plant is named`},
		{"NaN target", Target{Lab: cie.Lab{B: nan}}, []Observation{ok}, nil, "target: L* 0, a* 0, b* NaN"},
		{"negative tolerance", Target{Within: -1}, []Observation{ok}, nil, "target: tolerance -1"},
		{"negative keep", buff, []Observation{ok}, &Options{Keep: -1}, "keep -1 plants"},
		{"nothing", buff, nil, nil, "no plant has a colour yet"},
		{"only refused", buff, []Observation{{Plant: "M-1", Refused: true, Lab: cie.Lab{L: nan}}}, nil, "no plant has a colour yet"},
	} {
		if _, err := Rank(c.target, c.obs, c.opt); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: Rank gives %v, want an error with %q", c.name, err, c.want)
		}
	}
}

func TestRankAwkward(t *testing.T) {
	t.Parallel()
	t.Run("one plant, one photo", func(t *testing.T) {
		r := mustRank(t, []Observation{{Plant: "M-1", Photo: "a.jpg", Lab: buff.Lab}}, nil)
		p := r.Plants[0]
		if p.Advice != Keep || p.ChanceKept != 1 || p.Low != 0 || p.DeltaE != 0 || !(p.High > 1) || p.Direction != cie.OnTarget {
			t.Errorf("the only plant, on target: %+v", p)
		}
		for _, q := range r.Repeatability {
			if q.Known || math.IsNaN(q.Value) {
				t.Errorf("repeatability of %s = %+v, want unknown and a number", q.Of, q)
			}
		}
		if !strings.Contains(strings.Join(r.Assumed, "\n"), "no plant has two photos") {
			t.Errorf("Assumed = %q, want it to name the scatter", r.Assumed)
		}
	})
	t.Run("all equal", func(t *testing.T) {
		var obs []Observation
		for i := range 12 {
			for range 2 {
				obs = append(obs, Observation{Plant: fmt.Sprint(i + 1), Lab: cie.Lab{L: 60, A: 20, B: 40}})
			}
		}
		r := mustRank(t, obs, &Options{Keep: 3})
		for i, p := range r.Plants {
			if p.ID != fmt.Sprint(i+1) || math.IsNaN(p.Low+p.High+p.ChanceKept) {
				t.Errorf("plant %d of equal ones: %+v", i+1, p)
			}
			// 3 of 12, within 5 standard errors of 2000 draws.
			if math.Abs(p.ChanceKept-0.25) > 5*math.Sqrt(0.25*0.75/2000) {
				t.Errorf("ChanceKept of equal plant %s = %.3f, want 0.25 ± 0.05", p.ID, p.ChanceKept)
			}
		}
	})
	t.Run("one flagged photo", func(t *testing.T) {
		r := mustRank(t, []Observation{{Plant: "M-1", Lab: buff.Lab, Check: true}, {Plant: "M-2", Lab: cie.Lab{L: 60, A: 16, B: 34}}},
			&Options{Keep: 1})
		if got, want := r.Plants[0].Why, "within the tolerance, nearest of 2; only one flagged photo: photograph it again"; got != want ||
			r.Plants[0].Advice != Keep {
			t.Errorf("%s: %q, want keep: %q", r.Plants[0].Advice, got, want)
		}
	})
}

// One photo of three that shows another flower, or a bad light, hardly moves
// its plant, is named, and does not blur the others.
func TestRankOutlier(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(2, 2))
	for _, plants := range []int{1, 12} {
		obs, _ := season(rnd, plants, 3, 8, 0.6)
		clean := mustRank(t, obs, nil)
		bad := append([]Observation{}, obs...)
		bad[1].Lab.L -= 20
		bad[1].Lab.B -= 15
		r := mustRank(t, bad, nil)
		var before, after Plant
		for i := range r.Plants {
			if r.Plants[i].ID == "M-1" {
				after = r.Plants[i]
			}
			if clean.Plants[i].ID == "M-1" {
				before = clean.Plants[i]
			}
		}
		if d := cie.DeltaE2000(before.Lab, after.Lab); d > 1.2 {
			t.Errorf("%d plants: one bad photo of three moves its plant by Delta E %.2f, want at most 1.2", plants, d)
		}
		if d := cmp.Diff([]string{"M-1_2.jpg"}, after.Disagreeing); d != "" {
			t.Errorf("%d plants: disagreeing photos (-want +got):\n%s", plants, d)
		}
		if w := strings.Join(r.Warnings, "\n"); !strings.Contains(w, "plant M-1: M-1_2.jpg is Delta E") {
			t.Errorf("%d plants: warnings %q do not name M-1_2.jpg", plants, w)
		}
		if before, after := clean.Photo[0][0], r.Photo[0][0]; plants > 1 && after > 3*before+1 {
			t.Errorf("one bad photo raises the L* variance between photos from %.2f to %.2f", before, after)
		}
	}
}

func TestRankTwoPhotosApart(t *testing.T) {
	t.Parallel()
	obs, _ := season(rand.New(rand.NewPCG(3, 3)), 12, 2, 8, 0.6)
	calm := mustRank(t, obs, nil)
	obs[0].Lab.L += 15
	r := mustRank(t, obs, nil)
	width := func(r *Ranking) float64 {
		for _, p := range r.Plants {
			if p.ID == "M-1" {
				return p.High - p.Low
			}
		}
		return 0
	}
	if !(width(r) > 2*width(calm)) {
		t.Errorf("two photos far apart: interval %.2f wide, %.2f when they agree; want at least twice", width(r), width(calm))
	}
	if w := strings.Join(r.Warnings, "\n"); !strings.Contains(w, "plant M-1: its two photos, M-1_1.jpg and M-1_2.jpg, differ by") {
		t.Errorf("warnings %q do not name the two photos", w)
	}
}

// The input's order does not matter to anything in the result.
func TestRankOrderOfInput(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0))
		obs, _ := season(rnd, rapid.IntRange(1, 15).Draw(t, "plants"), rapid.IntRange(1, 4).Draw(t, "photos"), 6, 1)
		for i := range obs {
			obs[i].Check = rnd.IntN(5) == 0
			obs[i].NoCard = rnd.IntN(8) == 0
			obs[i].Refused = rnd.IntN(10) == 0
		}
		opt := &Options{Draws: 200}
		a, errA := Rank(buff, obs, opt)
		rnd.Shuffle(len(obs), func(i, j int) { obs[i], obs[j] = obs[j], obs[i] })
		b, errB := Rank(buff, obs, opt)
		if (errA == nil) != (errB == nil) {
			t.Fatalf("errors differ: %v, %v", errA, errB)
		}
		if d := cmp.Diff(a, b); d != "" {
			t.Fatalf("order of input matters (-first +shuffled):\n%s", d)
		}
		if a == nil {
			return
		}
		sum := 0.0
		for _, p := range a.Plants {
			sum += p.ChanceKept
			if !(0 <= p.Low && p.Low <= p.DeltaE && p.DeltaE <= p.High) || math.IsInf(p.High, 0) {
				t.Fatalf("plant %s: interval %v ≤ %v ≤ %v", p.ID, p.Low, p.DeltaE, p.High)
			}
		}
		if math.Abs(sum-float64(a.Keep)) > 1e-9 {
			t.Fatalf("chances add up to %v, want %d", sum, a.Keep)
		}
	})
}

// A further sound photo that agrees never widens a plant's error.
func TestRankMorePhotos(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		obs, _ := season(rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 0)), 8, 2, 6, 1)
		a, err := Rank(buff, obs, nil)
		if err != nil {
			t.Fatal(err)
		}
		p := a.Plants[rapid.IntRange(0, 7).Draw(t, "plant")]
		obs = append(obs, Observation{Plant: p.ID, Photo: "one more.jpg", Lab: p.Lab, SE: [3]float64{0.1, 0.1, 0.1}})
		b, err := Rank(buff, obs, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range b.Plants {
			if q.ID == p.ID && !(space.Trace(q.Cov) < space.Trace(p.Cov)) {
				t.Fatalf("error variance with one more photo %.4f, was %.4f", space.Trace(q.Cov), space.Trace(p.Cov))
			}
		}
	})
}

// Whatever colours and errors come in, what comes out is a number.
func TestRankNeverNaN(t *testing.T) {
	t.Parallel()
	num := rapid.OneOf(rapid.Float64Range(-1000, 1000), rapid.SampledFrom([]float64{0, 50, 100, 1e-300, -1000, 1000}))
	se := rapid.OneOf(rapid.Float64Range(0, 1000), rapid.SampledFrom([]float64{0, 1e-200, 1000}))
	color := rapid.Custom(func(t *rapid.T) cie.Lab {
		return cie.Lab{L: num.Draw(t, "L"), A: num.Draw(t, "a"), B: num.Draw(t, "b")}
	})
	rapid.Check(t, func(t *rapid.T) {
		var obs []Observation
		for i := range rapid.IntRange(1, 12).Draw(t, "photos") {
			obs = append(obs, Observation{
				Plant: rapid.SampledFrom([]string{"A", "B", "C", "D", "E", "F", "G"}).Draw(t, "plant"), Photo: fmt.Sprint(i),
				Lab: color.Draw(t, "colour"), SE: [3]float64{se.Draw(t, "L"), se.Draw(t, "a"), se.Draw(t, "b")},
				Check: rapid.Bool().Draw(t, "check"), NoCard: rapid.Bool().Draw(t, "no card"),
			})
		}
		r, err := Rank(Target{Lab: color.Draw(t, "target")}, obs, &Options{Draws: 200})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range r.Plants {
			for _, v := range []float64{p.Lab.L, p.Lab.A, p.Lab.B, space.Trace(p.Cov), p.Precision, p.DeltaE, p.Low, p.High, p.ChanceKept} {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("plant %+v", p)
				}
			}
			if !(0 <= p.Low && p.Low <= p.DeltaE && p.DeltaE <= p.High) {
				t.Fatalf("plant %s: interval %v ≤ %v ≤ %v", p.ID, p.Low, p.DeltaE, p.High)
			}
		}
		if _, err := json.Marshal(r.JSON("", "")); err != nil {
			t.Fatal(err)
		}
	})
}

func TestCompareIDs(t *testing.T) {
	t.Parallel()
	// Natural order; common practice.
	ids := []string{"", "2", "10", "a", "A1", "a1x", "M-09", "M-9", "m-10", "M-10a", "N"}
	for i, x := range ids {
		for j, y := range ids {
			if got, want := CompareIDs(x, y), min(max(i-j, -1), 1); got != want {
				t.Errorf("CompareIDs(%q, %q) = %d, want %d", x, y, got, want)
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		id := rapid.StringMatching(`[aAbB019\-]{0,6}`)
		x, y, z := id.Draw(t, "x"), id.Draw(t, "y"), id.Draw(t, "z")
		if CompareIDs(x, y) != -CompareIDs(y, x) || (CompareIDs(x, y) == 0) != (x == y) {
			t.Fatalf("CompareIDs(%q, %q) = %d, the other way %d", x, y, CompareIDs(x, y), CompareIDs(y, x))
		}
		if CompareIDs(x, y) < 0 && CompareIDs(y, z) < 0 && CompareIDs(x, z) >= 0 {
			t.Fatalf("%q < %q < %q, but not the first before the last", x, y, z)
		}
	})
}

// A plant that crosses need says so, also one that was not measured this season; the ranking that it was copied from does not.
func TestNeed(t *testing.T) {
	t.Parallel()
	was := Ranking{Plants: []Plant{{ID: "A", Rank: 1, Advice: Pass, Why: "1st of 1"}}, Unmeasured: []Unmeasured{{ID: "B", Why: "no photo"}}}
	now := was
	now.Plants = slices.Clone(was.Plants)
	now.Need([]Pair{{SeedParent: "A", PollenParent: "B"}, {SeedParent: "A", PollenParent: "C"},
		{SeedParent: "A", PollenParent: "A", Kind: KindSelf}})
	want := "1st of 1, held for the crosses A × B, A × C and A selfed"
	if p := now.Plants[0]; p.Why != want || p.Advice != Reserve {
		t.Errorf("%s, %q; want it in reserve, %q", p.Advice, p.Why, want)
	}
	if got, want := now.Unmeasured[0].Why, "no photo, but kept for the cross A × B"; got != want || was.Unmeasured[0].Why != "no photo" {
		t.Errorf("%q, want %q; before %q", got, want, was.Unmeasured[0].Why)
	}
}
