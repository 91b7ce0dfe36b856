package garden

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
)

// Cuttings, tubers and divisions are one plant to the genetics: ranking, pairs, plan and
// trend are the same, to the last digit, as of a book in which the same readings and offspring were
// entered as one plant's. Before, each was a plant of its own, ranked by itself, with a
// breeding value of its own and full sibs' relationship to the others.
func TestClonesAreOnePlant(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	look := func(clones bool) (out [4]string) {
		p := newPlot(t)
		id := map[string]string{"G-1c1": "G-1", "G-1c2": "G-1", "H-1d": "H-1"}
		if clones {
			_, _, err := p.AddClones(ctx, "G-1", "2026", book.ByCutting, 0, []string{"G-1c1"})
			p.ok(err)
			_, root, err := p.AddClones(ctx, "G-1c1", "2026", book.ByCutting, 0, []string{"G-1c2"}) // of a cutting
			p.ok(err)
			if root != "G-1" {
				t.Errorf("a cutting's cutting is of %s", root)
			}
			_, _, err = p.AddClones(ctx, "H-1", "2025", book.ByDivision, 0, []string{"H-1d"})
			p.ok(err)
			for c := range id {
				id[c] = c
			}
		}
		p.measure("2026", id["G-1c1"], 5.6)
		p.measure("2026", id["G-1c2"], 4.1)
		p.measure("2025", id["H-1d"], 6.9)
		p.grow("2026", "K-1", "F-3", id["H-1d"], 4)
		p.grow("2026", "K-2", id["H-1d"], "F-3", 6)
		for _, s := range []book.Score{{Plant: id["G-1c1"], Trait: "vigour", Value: 4, On: day(1)}, {Plant: "G-2", Trait: "vigour", Value: 3,
			On: day(2)},
			{Plant: "G-3", Trait: "vigour", Value: 2, On: day(3)}, {Plant: id["G-1c2"], Trait: "vigour", Value: 5, On: day(4)}} {
			p.ok(p.SetScores(ctx, s))
		}
		r := p.rank(Options{Season: "2026", Keep: 2, Weigh: []string{"vigour=0.5"}})
		out[0] = asJSON(t, r.Ranking.JSON("buff", r.Season))
		if n := len(r.Ranking.Plants); n != 5 {
			t.Errorf("clones %v: %d plants ranked, want 5", clones, n)
		}
		o := UsualPairs()
		o.Season = "2026"
		pairs, err := Pairs(ctx, p.Book, o)
		p.ok(err)
		out[1] = asJSON(t, pairs.Pairing.JSON("buff", pairs.Season))
		plan, from, err := Plan(
			ctx,
			p.Book,
			&PlanOptions{Season: "2026", Seasons: 2, Runs: 20, Choices: []selection.Choice{{Grow: 20, Keep: 4}}},
		)
		p.ok(err)
		out[2] = asJSON(t, plan.JSON("buff", from.Season))
		trend, _, err := Trend(ctx, p.Book, "buff", "2026")
		p.ok(err)
		out[3] = asJSON(t, trend.JSON("buff"))
		return out
	}
	one, many := look(false), look(true)
	for i, what := range [4]string{"ranking", "pairs", "plan", "trend"} {
		if d := cmp.Diff(one[i], many[i]); d != "" {
			t.Errorf("%s (-one plant +clones):\n%.3000s", what, d)
		}
	}
}

func day(d int) time.Time { return time.Date(2026, 7, d, 0, 0, 0, 0, time.UTC) }

// A tuber that grows in a later season brings its plant into that season's ranking, under
// the plant's id; it is out once all of its tubers are.
func TestClonesOfALaterSeason(t *testing.T) {
	t.Parallel()
	ctx := t.Context()
	p := newPlot(t)
	_, _, err := p.AddClones(ctx, "F-4", "2026", book.ByTuber, 0, []string{"F-4t1", "F-4t2"})
	p.ok(err)
	p.ok(p.SetStatus(ctx, book.Lost, "F-4")) // the mother plant
	p.measure("2026", "F-4t1", 3)
	ranked := func() []string {
		var ids []string
		for _, q := range p.rank(Options{Season: "2026", Keep: 2}).Ranking.Plants {
			ids = append(ids, q.ID)
		}
		slices.Sort(ids)
		return ids
	}
	booktest.Same(t, "with tubers", []string{"F-4", "G-1", "G-2", "G-3"}, ranked())
	p.ok(p.SetStatus(ctx, book.Lost, "F-4t1", "F-4t2"))
	booktest.Same(t, "all tubers lost", []string{"G-1", "G-2", "G-3"}, ranked())
}
