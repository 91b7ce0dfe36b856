package compose

import (
	"cmp"
	"context"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/report"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/garden"
	"hueward/selection/trend"
)

// Ahead adds to a season's report the crosses to make, the seasons so far and those to come.
func Ahead(ctx context.Context, b *book.Book, r *garden.Season, s *report.Season) error {
	if r.Values == nil {
		return nil
	}
	if r.Pairing == nil {
		s.Warnings = append(s.Warnings, "no crosses are proposed: "+r.NoPairs.Error())
		return nil
	}
	if err := AddPairs(ctx, b, r, s); err != nil {
		return err
	}
	if err := AddPast(ctx, b, r, s); err != nil {
		return err
	}
	return AddPlan(ctx, b, r, s)
}

// AddPairs adds to a season's report the crosses to make of it, which it has.
func AddPairs(ctx context.Context, b *book.Book, r *garden.Season, s *report.Season) error {
	pairing := r.Pairing
	pairing.Predict()
	hold, err := HoldWords(ctx, b, r)
	if err != nil {
		return err
	}
	s.Pairs = &report.Pairs{Words: append(PairWords(r), hold...)}
	for _, w := range pairing.Warnings {
		if !slices.Contains(r.Values.Warnings, w) {
			s.Pairs.Warnings = append(s.Pairs.Warnings, w)
		}
	}
	for i := range pairing.Chosen {
		s.Pairs.Crosses = append(s.Pairs.Crosses, Cross(r.Values, &pairing.Chosen[i]))
	}
	return nil
}

// AddPast adds the seasons so far, and the heritabilities. Decisions on plants do not change these.
func AddPast(ctx context.Context, b *book.Book, r *garden.Season, s *report.Season) error {
	l, err := garden.LineageOf(ctx, b, r.Line.Name, r.Season)
	if err != nil {
		return err
	}
	trend, err := l.Trend(r.Line, r.Values)
	if err != nil {
		return err
	}
	if len(trend.Seasons) > 1 || len(trend.OffTypes) > 0 {
		s.Past = Past(trend, r.Line.Target.Aim == book.Hold)
	}
	for _, h := range trend.Heritability {
		q := report.Inheritance{Of: h.Of, Value: h.Value, SE: h.SE}
		if p := h.ParentOffspring; !math.IsNaN(p.Value) && !math.IsNaN(p.SE) {
			q.Alone = cmp.Or(shareWords(p.Value, p.SE), "not known")
		}
		s.Inheritance = append(s.Inheritance, q)
	}
	return nil
}

// Cross returns a pair as a report shows it.
func Cross(v *selection.Values, p *selection.Pair) report.Cross {
	o := p.Offspring
	c := report.Cross{
		Kind: string(p.Kind), Mean: o.Mean, Hex: o.Mean.Hex(), Name: cie.Name(o.Mean), Cov: o.Whole(),
		Expected: p.Predicted.Distance, ChanceWithin: p.Predicted.ChanceWithin, Best: p.Predicted.Best, BestOf: p.Predicted.N,
		Sow: p.Predicted.GrowFor95, Inbreeding: p.Inbreeding, Why: p.Why,
	}
	if o.Kinds != nil {
		c.WithF2 = p.Sorts
	}
	for _, x := range []struct {
		id string
		to *report.Parent
	}{{p.SeedParent, &c.Seed}, {p.PollenParent, &c.Pollen}} {
		value, _ := v.Of(x.id)
		*x.to = report.Parent{ID: x.id, Lab: value.Lab, Hex: value.Lab.Hex()}
	}
	return c
}

// Past returns a trend as a report shows it.
func Past(r *trend.Result, hold bool) *report.Past {
	out := &report.Past{Words: TrendWords(r, hold), OffTypes: r.OffTypes}
	for _, q := range r.Seasons {
		p := report.PastSeason{
			Season: q.Season, Plants: q.Plants, Mean: q.Mean, Hex: q.Mean.Hex(), Cov: q.Cov,
			DeltaE: q.DeltaE, Low: q.Low, High: q.High, Direction: Compared(cie.Direction(q.Mean, r.Target.Lab)),
		}
		if q.Value != nil {
			p.Bred = &report.Bred{Lab: *q.Value, Hex: q.Value.Hex(), Name: cie.Name(*q.Value), DeltaE: cie.DeltaE2000(*q.Value, r.Target.Lab)}
		}
		out.Seasons = append(out.Seasons, p)
	}
	return out
}

// PlanSeasons is the default number of seasons that a plan looks ahead.
const PlanSeasons = 6

// AddPlan adds the simulation of the coming seasons, which takes longest.
func AddPlan(ctx context.Context, b *book.Book, r *garden.Season, s *report.Season) error {
	p, err := r.Plan(ctx, b, &garden.PlanOptions{Seasons: PlanSeasons})
	if err != nil {
		if ctx.Err() != nil {
			return err
		}
		s.Warnings = append(s.Warnings, "no plan is made: "+err.Error())
		return nil
	}
	s.Ahead = &report.Ahead{Runs: p.Runs, Courses: p.Courses}
	s.Ahead.Words, err = HoldWords(ctx, b, r)
	return err
}
