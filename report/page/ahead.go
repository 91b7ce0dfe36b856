package page

import (
	"context"
	"errors"
	"fmt"
	"html/template"
	"net/url"
	"slices"
	"strings"

	"hueward/report"
	"hueward/report/compose"
	"hueward/selection"
	"hueward/selection/book"
)

// A decision changes which plants are paired, and so the crosses and the plan. It does not
// change breeding values or the seasons so far: these are cached with the ranking.

// past returns the ranking's report with the seasons so far.
func (s *Server) past(ctx context.Context, line, season string) (*ranked, *report.Season, error) {
	whole, err := remember(ctx, s, fmt.Sprintf(rankKey+"past %q %q", line, season), func(ctx context.Context) (*report.Season, error) {
		r, err := s.ranking(ctx, line, season)
		if err != nil {
			return nil, err
		}
		whole := *r.Report
		if r.Values == nil {
			return &whole, nil
		}
		return &whole, compose.AddPast(ctx, s.b, r.Season, &whole)
	})
	if err != nil {
		return nil, nil, err
	}
	r, err := s.ranking(ctx, line, season)
	if err != nil {
		return nil, nil, err
	}
	now := *r.Report // as it is decided now
	now.Past, now.Inheritance = whole.Past, whole.Inheritance
	return r, &now, nil
}

// ahead returns past with crosses and plan, which take longest.
func (s *Server) ahead(ctx context.Context, line, season string) (*report.Season, error) {
	return remember(ctx, s, fmt.Sprintf("ahead %q %q", line, season), func(ctx context.Context) (*report.Season, error) {
		p, err := s.paired(ctx, line, season)
		if err != nil {
			return nil, err
		}
		out := *p.whole
		if out.Pairs == nil {
			return &out, nil
		}
		return &out, compose.AddPlan(ctx, s.b, p.ranked.Season, &out)
	})
}

// pairing is the proposed crosses, with the ranking that they are based on.
type pairing struct {
	*ranked
	*selection.Pairing        // nil: none is proposed
	none               string // why
	whole              *report.Season
}

// paired returns past with the proposed crosses.
func (s *Server) paired(ctx context.Context, line, season string) (*pairing, error) {
	return remember(ctx, s, fmt.Sprintf("paired %q %q", line, season), func(ctx context.Context) (*pairing, error) {
		r, whole, err := s.past(ctx, line, season)
		if err != nil {
			return nil, err
		}
		p := &pairing{ranked: r, Pairing: r.Season.Pairing, whole: new(*whole)}
		switch {
		case r.Values == nil:
			p.Pairing, p.none = nil, selection.ErrNoColors.Error()
		case p.Pairing == nil:
			p.none = r.NoPairs.Error()
			p.whole.Warnings = append(slices.Clone(whole.Warnings), "no crosses are proposed: "+p.none)
		default:
			err = compose.AddPairs(ctx, s.b, r.Season, p.whole)
		}
		return p, err
	})
}

// pairRow is a pair that can be ticked.
type pairRow struct {
	report.Cross
	Chosen bool
	Key    string
}

// pairs shows the pairs that promise most, to make crosses of.
func (q *request) pairs() error {
	d := struct {
		HTML  any
		Rows  []pairRow
		Hint  template.HTML
		Dash  bool // some pair has no number of seeds
		Words []string
	}{}
	line, season, err := q.aimed()
	var p *pairing
	if err == nil {
		p, err = q.paired(q.ctx(), line.Name, season)
	}
	if err == nil && p.Pairing == nil {
		err = errors.New(p.none)
	}
	if err != nil {
		d.Hint = hintOf(err)
		return q.render("pairs", "Pairs", d)
	}
	seen := map[string]bool{}
	add := func(list []selection.Pair, chosen bool) {
		for i := range list {
			c := compose.Cross(p.Values, &list[i])
			row := pairRow{Cross: c, Chosen: chosen, Key: c.Seed.ID + " " + c.Pollen.ID}
			if !seen[row.Key] {
				seen[row.Key] = true
				d.Rows = append(d.Rows, row)
				d.Dash = d.Dash || c.Sow == 0
			}
		}
	}
	add(p.Chosen, true)
	if !p.Ranking.Held {
		add(p.Pairs, false)
	}
	if d.HTML, err = report.HTML(p.whole, report.PairsSection); err != nil {
		return err
	}
	d.Words = slices.Concat(p.Pairing.Warnings, p.Pairing.Assumed)
	return q.render("pairs", "Pairs", d)
}

// makeCrosses notes the crosses that were ticked.
func (q *request) makeCrosses() error {
	f := q.filled()
	heads := f.Count("heads")
	if f.Err != nil {
		return f.Err
	}
	ticked := q.r.PostForm["pair"]
	if len(ticked) == 0 || len(ticked) > 50 {
		return wrongf("Tick the pairs to cross; at most 50 at once.")
	}
	if i := slices.IndexFunc(ticked, func(t string) bool { return !strings.Contains(t, " ") }); i >= 0 {
		return wrongf("%q is not a pair.", ticked[i])
	}
	names, left, why, err := q.each(ticked, func(b *book.Book, t string) (string, error) {
		seed, pollen, _ := strings.Cut(t, " ")
		made, err := q.cross(b, book.Cross{SeedParent: seed, PollenParent: pollen, MadeOn: q.dayNow()}, heads)
		if err != nil {
			return strings.Replace(t, " ", " × ", 1), err
		}
		return made.Name + " (" + made.Words() + ")", nil
	})
	if err != nil {
		return err
	}
	if len(left) > 0 {
		return partOf(strings.Join(names, "; "), "noted", why, url.Values{"pair": left})
	}
	q.done("Noted: %s%s", strings.Join(names, "; "), headsWords(book.KindCross, heads))
	return q.to("/crosses")
}

// section shows a part of the line's report, of which nothing has to be said first.
func (q *request) section(page, title string, part report.Section, of func(ctx context.Context, line, season string) (*report.Season,
	error),
	has func(*report.Season) bool) error {
	d := struct {
		HTML any
		Hint template.HTML
	}{}
	line, season, err := q.aimed()
	if err == nil {
		var s *report.Season
		if s, err = of(q.ctx(), line.Name, season); err == nil {
			if has(s) {
				d.HTML, err = report.HTML(s, part)
			} else if part == report.PlanSection && len(s.Warnings) > 0 {
				d.Hint = hintOf(errors.New(s.Warnings[len(s.Warnings)-1]))
			}
		}
	}
	if err != nil {
		d.Hint = hintOf(err)
	}
	return q.render(page, title, d)
}

// plan shows what the seasons ahead may bring.
func (q *request) plan() error {
	return q.section("plan", "Plan", report.PlanSection, q.ahead, func(s *report.Season) bool { return s.Ahead != nil })
}

// drift shows the line over its seasons.
func (q *request) drift() error {
	return q.section("drift", "Drift", report.PastSection, func(ctx context.Context, line, season string) (*report.Season, error) {
		_, s, err := q.past(ctx, line, season)
		return s, err
	}, func(s *report.Season) bool { return s.Past != nil })
}
