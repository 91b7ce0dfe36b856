package main

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/report"
	"hueward/selection"
	"hueward/selection/book"
)

// seasonOptions choose the season and how it is ranked.
type seasonOptions struct {
	line, season string
	keep         int
	must, weigh  []string
}

// ranked is one season of one line: what the book holds and how it ranks.
type ranked struct {
	line     *book.Line
	season   string
	plants   map[string]book.Plant
	readings []book.Reading
	ranking  *selection.Ranking
	values   *selection.Values // nil: none could be predicted
}

// rank reads a season from the book and ranks its plants.
func rank(ctx context.Context, b *book.Book, o seasonOptions) (*ranked, error) {
	r := &ranked{plants: map[string]book.Plant{}}
	var err error
	if r.line, r.season, err = aimed(ctx, b, o.line, o.season); err != nil {
		return nil, err
	}
	line := r.line
	if r.readings, err = b.Readings(ctx, line.Name, r.season); err != nil {
		return nil, err
	}
	plants, err := b.Plants(ctx, book.PlantFilter{Line: line.Name})
	if err != nil {
		return nil, err
	}
	opt := &selection.Options{Keep: o.keep}
	for _, p := range plants {
		r.plants[p.ID] = p
		if p.Season == r.season && p.Status != book.Lost {
			opt.Plants = append(opt.Plants, p.ID)
		}
	}
	if opt.Values, err = values(ctx, b, line.Name, r.season); err != nil {
		return nil, fmt.Errorf("line %s: %w", line.Name, err)
	}
	r.values = opt.Values
	if opt.Traits, opt.Pedigree, err = otherTraits(ctx, b, o.must, o.weigh); err != nil {
		return nil, err
	}
	r.ranking, err = selection.Rank(line.Target.Selection(), book.Observations(r.readings), opt)
	if errors.Is(err, selection.ErrNoColors) {
		return nil, fmt.Errorf("line %s, season %s: %w", line.Name, r.season, err)
	}
	return r, err
}

// report fills in what a report shows, but for the pictures: see [pictures].
func (a *app) report(r *ranked) *report.Season {
	t := r.line.Target
	s := &report.Season{
		Line: r.line.Name, Season: r.season, Aim: string(t.Aim), Made: a.now(),
		Target: report.Target{
			Lab: t.Lab, Within: r.ranking.Target.Within, Name: cie.Name(t.Lab), Hex: t.Lab.Hex(), Source: sourceWords(t.Source),
		},
		ByOffspring: r.ranking.ByValue,
		Sure:        sureOf(r.ranking),
		Assumed:     append([]string{}, r.ranking.Assumed...),
		Warnings:    r.ranking.Warnings,
		Version:     version,
	}
	if q := r.ranking.Repeatability[3]; q.Of != "" {
		s.Repeatability = &report.Repeatability{Value: q.Value, Assumed: !q.Known}
	}
	colors := map[string]*colorimg.Reading{} // of each plant, a reading to show its colours by
	var trueness []float64
	for i := range r.readings {
		rd := &r.readings[i]
		m := &rd.Measured
		name := m.File
		if rd.Photo != nil {
			name = rd.Photo.Name
		}
		if m.Status == colorimg.Refused {
			reason, hint, _ := strings.Cut(m.Reason, "; ")
			s.Refused = append(s.Refused, report.Refused{File: name, Plant: rd.Plant, Reason: reason, Hint: hint})
			continue
		}
		if rd.Photo == nil {
			continue
		}
		trueness = append(trueness, m.SE.Trueness)
		s.Photos = append(s.Photos, report.Photo{Plant: rd.Plant, Reading: m, Name: name})
		if c := colors[rd.Plant]; c == nil || m.SE.Precision < c.SE.Precision {
			colors[rd.Plant] = m
		}
	}
	s.Trueness = median(trueness)
	for _, p := range r.ranking.Plants {
		q := report.Plant{
			ID: p.ID, Rank: p.Rank, Lab: p.Lab, Hex: p.Lab.Hex(), Name: cie.Name(p.Lab),
			SE:     &colorimg.Triple{math.Sqrt(p.Cov[0][0]), math.Sqrt(p.Cov[1][1]), math.Sqrt(p.Cov[2][2])},
			DeltaE: p.DeltaE, Low: p.Low, High: p.High, Direction: compared(p.Direction),
			Photos: p.Photos, Advice: string(p.Advice), ChanceKept: p.ChanceKept, Why: p.Why,
			Note: r.plants[p.ID].Note,
		}
		if v := p.Value; v != nil && r.ranking.ByValue {
			q.Bred = &report.Bred{Lab: v.Lab, Hex: v.Lab.Hex(), Name: cie.Name(v.Lab), DeltaE: p.ValueDeltaE, Inbreeding: v.Inbreeding}
		}
		if c := colors[p.ID]; c != nil {
			q.Colors = c.Colors
		}
		if len(p.Disagreeing) > 0 {
			q.Warnings = append(q.Warnings, fmt.Sprintf("%s: not like its other photos, counts for less", strings.Join(p.Disagreeing, ", ")))
		}
		s.Plants = append(s.Plants, q)
	}
	for _, u := range r.ranking.Unmeasured {
		s.Unmeasured = append(s.Unmeasured, report.Unmeasured{ID: u.ID, Why: u.Why})
	}
	for _, p := range s.Photos {
		if p.Reading.Profile == "sRGB (assumed)" {
			s.Assumed = append(s.Assumed, "photos without a colour profile hold sRGB")
			break
		}
	}
	return s
}

// compared makes a whole phrase of a direction.
func compared(direction string) string {
	if direction == selection.OnTarget {
		return direction
	}
	return direction + " than the target"
}

// sourceWords says where a target came from.
func sourceWords(source string) string {
	switch source {
	case "--lab":
		return "given as L* a* b*"
	case "--hex":
		return "given as a screen colour"
	}
	if name, ok := strings.CutPrefix(source, "photo "); ok {
		return "measured from " + name
	}
	return source
}

// sureOf says how sure the choice of the kept is as a whole.
func sureOf(r *selection.Ranking) string {
	kept, clear, close := 0, 0, 0
	for _, p := range r.Plants {
		switch {
		case p.Advice == selection.Keep:
			kept++
			if p.ChanceKept >= 0.9 {
				clear++
			}
		case p.ChanceKept >= 0.1:
			close++
		}
	}
	switch {
	case kept == 0 || kept == len(r.Plants):
		return ""
	case clear == kept && close == 0:
		return fmt.Sprintf("The choice is clear: each of the %d kept belongs there with a chance of at least 90 %%.", kept)
	}
	s := fmt.Sprintf("Of the %d kept, %d belong there with a chance of at least 90 %%", kept, clear)
	switch close {
	case 0:
		return s + "."
	case 1:
		return s + "; 1 other plant has a chance of 10 % or more. More photos of those between would tell."
	}
	return s + fmt.Sprintf("; %d other plants have a chance of 10 %% or more. More photos of those between would tell.", close)
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	v = slices.Clone(v)
	slices.Sort(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}
