package main

import (
	"context"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/report"
	"hueward/selection"
	"hueward/selection/book"
)

// lookAhead adds to a season's report the crosses to make, the seasons so far and those
// to come.
func lookAhead(ctx context.Context, b *book.Book, r *ranked, s *report.Season) error {
	if r.values == nil {
		return nil
	}
	o := &pairsOptions{line: r.line.Name, season: r.season, top: 1, crosses: 6, uses: 3, bestOf: 10, wanted: 1}
	pairing, err := pairValues(ctx, b, r.line, r.season, r.values, o)
	if err != nil {
		s.Warnings = append(s.Warnings, "no crosses are proposed: "+err.Error())
		return nil
	}
	s.Pairs = &report.Pairs{Gain: pairing.Gain}
	for _, w := range pairing.Warnings {
		if !slices.Contains(r.values.Warnings, w) {
			s.Pairs.Warnings = append(s.Pairs.Warnings, w)
		}
	}
	for i := range pairing.Chosen {
		s.Pairs.Crosses = append(s.Pairs.Crosses, reportCross(r.values, &pairing.Chosen[i]))
	}
	l, err := lineageOf(ctx, b, r.line.Name, r.season)
	if err != nil {
		return err
	}
	hold := r.line.Target.Aim == book.Hold
	trend, err := selection.Trend(r.line.Target.Selection(), l.grown(), &selection.TrendOptions{Hold: hold, Values: r.values})
	if err != nil {
		return err
	}
	if len(trend.Seasons) > 1 || len(trend.OffTypes) > 0 {
		s.Past = reportPast(trend, hold)
	}
	for _, h := range trend.Heritability {
		q := report.Inheritance{Of: h.Of, Value: h.Value, SE: h.SE}
		if p := h.ParentOffspring; !math.IsNaN(p.Value) && !math.IsNaN(p.SE) {
			q.Alone = fixed(p.Value, 2) + " ± " + fixed(p.SE, 2)
		}
		s.Inheritance = append(s.Inheritance, q)
	}
	return addPlan(ctx, b, r, s, hold)
}

func reportCross(v *selection.Values, p *selection.Pair) report.Cross {
	o := p.Offspring
	c := report.Cross{
		Kind: string(p.Kind), Mean: o.Mean, Hex: o.Mean.Hex(), Name: cie.Name(o.Mean), Cov: o.Whole(),
		Expected: p.Predicted.Distance, ChanceWithin: p.Predicted.ChanceWithin, Best: p.Predicted.Best, BestOf: p.Predicted.N,
		Sow: p.Predicted.GrowFor95, Inbreeding: p.Inbreeding, Why: p.Why,
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

func reportPast(r *selection.TrendResult, hold bool) *report.Past {
	out := &report.Past{Words: trendWords(r, hold)}
	for _, q := range r.Seasons {
		p := report.PastSeason{
			Season: q.Season, Plants: q.Plants, Mean: q.Mean, Hex: q.Mean.Hex(), Cov: q.Cov,
			DeltaE: q.DeltaE, Low: q.Low, High: q.High, Direction: compared(selection.Direction(q.Mean, r.Target.Lab)),
		}
		if q.Value != nil {
			p.Bred = &report.Bred{Lab: *q.Value, Hex: q.Value.Hex(), Name: cie.Name(*q.Value), DeltaE: cie.DeltaE2000(*q.Value, r.Target.Lab)}
		}
		out.Seasons = append(out.Seasons, p)
	}
	for _, o := range r.OffTypes {
		out.OffTypes = append(out.OffTypes, report.OffType{ID: o.Plant, Hex: o.Lab.Hex(), Direction: o.Direction + " than it", DeltaE: o.DeltaE})
	}
	return out
}

func addPlan(ctx context.Context, b *book.Book, r *ranked, s *report.Season, hold bool) error {
	opt := &selection.PlanOptions{Seasons: 6, Runs: 200}
	var err error
	if opt.Candidates, err = candidates(ctx, b, r.line.Name, r.season, nil, r.values); err != nil {
		return err
	}
	p, err := selection.PlanAhead(r.values, r.line.Target.Selection(), opt)
	if err != nil {
		s.Warnings = append(s.Warnings, "no plan is made: "+err.Error())
		return nil
	}
	s.Ahead = &report.Ahead{Runs: p.Runs}
	for _, c := range p.Courses {
		n := len(c.Reached) - 1
		s.Ahead.Courses = append(s.Ahead.Courses, report.Course{Grow: c.Grow, Keep: c.Keep, Reached: c.Reached, Half: c.Half, Distance: c.Distance[n], Inbreeding: c.Inbreeding[n]})
	}
	if hold {
		s.Ahead.Words = append(s.Ahead.Words, holdWords())
	}
	return nil
}
