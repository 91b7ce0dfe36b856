package garden

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"hueward/selection"
	"hueward/selection/ask"
	"hueward/selection/book"
	"hueward/selection/genetics"
	"hueward/selection/trend"
)

// Lineage is a line's plants with their ancestors, and every season's colours of them.
type Lineage struct {
	Plants  []genetics.Parents
	Own     map[string]book.Plant // of the line itself
	Records []selection.Record
}

// LineageOf reads a line's plants and their ancestors' up to a season; empty: all. A plant that is noted as of a later one counts
// where a photo shows it by then, as in a ranking: the season or the camera's clock is wrong, and book/safety.Check says so.
func LineageOf(ctx context.Context, b *book.Book, line, upTo string) (*Lineage, error) {
	var err error
	plants := ask.Of(ctx, &err, b.Plants, book.PlantFilter{Line: line})
	pedigree, genes := ask.For(ctx, &err, b.Pedigree), Genotypes(ask.For(ctx, &err, b.Genotypes))
	if err != nil {
		return nil, err
	}
	pedigree = genes.Pedigree(pedigree)
	later := func(season string) bool { return upTo != "" && selection.CompareIDs(season, upTo) > 0 }
	var young []string
	for _, p := range plants {
		if later(p.Season) {
			young = append(young, p.ID)
		}
	}
	shown, err := shownBy(ctx, b, genes, young, later)
	if err != nil {
		return nil, err
	}
	l := &Lineage{Own: map[string]book.Plant{}}
	var ids []string
	for _, p := range plants {
		if _, clone := genes[p.ID]; !clone && (!later(p.Season) || shown[p.ID]) {
			l.Own[p.ID] = p
			ids = append(ids, p.ID)
		}
	}
	l.Plants = genetics.Ancestry(pedigree, ids)
	others := map[string]bool{}
	var names []string
	for _, p := range l.Plants {
		if _, ok := l.Own[p.ID]; !ok {
			others[p.ID] = true
			names = append(names, p.ID)
		}
	}
	readings, err := b.Colors(ctx, line, genes.all(names))
	if err != nil {
		return nil, err
	}
	n, err := b.Line(ctx, line)
	if err != nil {
		return nil, err
	}
	n.Target.PairAll(readings)
	genes.readings(readings)
	seasons := map[string][]selection.Observation{}
	for i := range readings {
		r := &readings[i]
		if _, ok := l.Own[r.Plant]; !ok && !others[r.Plant] || later(r.Season) {
			continue
		}
		if o, ok := r.Observation(); ok {
			seasons[r.Season] = append(seasons[r.Season], o)
		}
	}
	l.Records, err = selection.Records(seasons)
	return l, err
}

// shownBy are those of the plants, by their genes, that have a reading which is not later.
func shownBy(ctx context.Context, b *book.Book, genes Genotypes, plants []string, later func(season string) bool) (map[string]bool, error) {
	if len(plants) == 0 {
		return nil, nil
	}
	readings, err := b.ReadingsOf(ctx, plants...)
	shown := map[string]bool{}
	for i := range readings {
		if r := &readings[i]; !later(r.Season) {
			shown[genes.Of(r.Plant)] = true
		}
	}
	return shown, err
}

// Values predicts what the plants pass on; nil when none has a colour.
func (l *Lineage) Values() (*selection.Values, error) {
	v, err := selection.Predict(l.Plants, l.Records, nil)
	if errors.Is(err, selection.ErrNoRecords) {
		return nil, nil
	}
	return v, err
}

// Values predicts what the plants of a line pass on, from every season's readings of
// them and of their ancestors up to a season; nil when there is nothing to go by.
func Values(ctx context.Context, b *book.Book, line, upTo string) (*selection.Values, error) {
	l, err := LineageOf(ctx, b, line, upTo)
	if err != nil {
		return nil, err
	}
	return l.Values()
}

// Grown are the line's own plants that have a colour, as a trend takes them.
func (l *Lineage) Grown() []trend.Grown {
	parents := map[string]genetics.Parents{}
	for _, p := range l.Plants {
		parents[p.ID] = p
	}
	var out []trend.Grown
	for _, r := range l.Records {
		if _, ok := l.Own[r.Plant]; ok {
			p := parents[r.Plant]
			out = append(out, trend.Grown{Record: r, Seed: p.Seed, Pollen: p.Pollen, Group: p.Group})
		}
	}
	return out
}

// Trend looks at the seasons of the line that they are of. A plant that is noted as off-type is none of a held line any more.
func (l *Lineage) Trend(line *book.Line, v *selection.Values) (*trend.Result, error) {
	grown, hold := l.Grown(), line.Target.Aim == book.Hold
	if hold && len(grown) > 0 {
		grown = slices.DeleteFunc(grown, func(g trend.Grown) bool { return l.Own[g.Plant].Status == book.OffType })
		if len(grown) == 0 {
			return nil, errors.New("all plants that have a colour are noted as off-type")
		}
	}
	return trend.Trend(line.Target.Selection(), grown, &trend.Options{Hold: hold, Values: v})
}

// Trend reads a line's seasons and looks at them.
func Trend(ctx context.Context, b *book.Book, name, season string) (*trend.Result, *book.Line, error) {
	line, season, err := Aimed(ctx, b, name, season)
	if err != nil {
		return nil, nil, err
	}
	l, err := LineageOf(ctx, b, line.Name, season)
	if err != nil {
		return nil, nil, err
	}
	v, err := l.Values()
	if err != nil {
		return nil, nil, fmt.Errorf("line %s: %w", line.Name, err)
	}
	r, err := l.Trend(line, v)
	if err != nil {
		return nil, nil, fmt.Errorf("line %s: %w", line.Name, err)
	}
	return r, line, nil
}
