// Package story collects all that the book has of one plant: its ancestors, readings,
// scores, offspring, clones, crosses, heads, pollen and packets, for a page or a terminal to show.
//
// Start with [Of]. The plant's rank is not part of it.
package story

import (
	"cmp"
	"context"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/report/words"
	"hueward/selection/ask"
	"hueward/selection/book"
)

// Plant is one plant with all that the book has of it.
type Plant struct {
	book.Plant          // with its generation
	Target     *cie.Lab // of its line; nil: none is set
	Hex, Name  string   // of its surest reading; empty: it has none
	Pedigree   *Ancestor
	Readings   []Reading // the newest first
	Scores     []Score
	Offspring  []book.Plant
	Crosses    []book.Cross // that it is a parent of
	Heads      []book.Head
	Packets    []book.Packet // of those crosses
	Traits     []book.Trait  // that it may be scored on
	Clones     []book.Plant  // of the same genes: its tubers, cuttings and divisions, and the plant they are of
	Pollen     []book.Pollen // of it that is stored, or was
}

// Reading is one reading of its colour, beside the line's target.
type Reading struct {
	book.Reading
	Lab       cie.Lab
	HasLab    bool
	HasAim    bool
	DeltaE    float64 // Delta E 2000 from the target
	Direction string
}

// Score is its score on one trait, in words.
type Score struct{ Trait, Word, Day string }

// Of returns the story of the plant of that name, or an error that wraps [book.ErrNotFound] where there is none.
func Of(ctx context.Context, b *book.Book, id string) (*Plant, error) {
	p, err := b.Plant(ctx, id)
	if err != nil {
		return nil, err
	}
	s := &Plant{Plant: *p}
	line, err := b.Line(ctx, p.Line)
	if err != nil {
		return nil, err
	}
	if line.Target != nil {
		s.Target = &line.Target.Lab
	}
	readings, err := b.ReadingsOf(ctx, s.ID)
	s.readings(readings)
	s.scores(ask.For(ctx, &err, b.Traits), ask.Of(ctx, &err, b.Scores, s.ID))
	s.family(ask.Of(ctx, &err, b.Plants, book.PlantFilter{}))
	mine := map[string]bool{}
	s.Crosses = those(ask.Of(ctx, &err, b.Crosses, ""), func(c book.Cross) bool {
		mine[c.Name] = c.SeedParent == s.ID || c.PollenParent == s.ID
		return mine[c.Name]
	})
	s.Heads = those(ask.Of(ctx, &err, b.Heads, ""), func(h book.Head) bool { return h.Plant == s.ID })
	s.Packets = those(ask.Of(ctx, &err, b.Packets, ""), func(p book.Packet) bool { return mine[p.Cross] })
	s.Pollen = those(ask.Of(ctx, &err, b.Pollen, ""), func(p book.Pollen) bool { return p.Plant == s.ID })
	if err != nil {
		return nil, err
	}
	s.Pedigree, s.Generation, err = pedigree(ctx, b, p.ID)
	return s, err
}

func (s *Plant) readings(list []book.Reading) {
	surest := math.Inf(1)
	for _, r := range list {
		l := Reading{Reading: r}
		if m := r.Measured; m.Lab != nil {
			l.Lab, l.HasLab = m.Lab.Lab(), true
			if s.Target != nil {
				l.HasAim, l.DeltaE, l.Direction = true, cie.DeltaE2000(l.Lab, *s.Target), cie.Direction(l.Lab, *s.Target)
			}
			if m.SE.Precision < surest {
				surest, s.Hex, s.Name = m.SE.Precision, l.Lab.Hex(), cie.Name(l.Lab)
			}
		}
		s.Readings = append(s.Readings, l)
	}
}

func (s *Plant) scores(traits []book.Trait, list []book.Score) {
	byName := map[string]*book.Trait{}
	for i := range traits {
		byName[traits[i].Name] = &traits[i]
	}
	s.Traits = traits
	for _, u := range book.UsualTraits {
		if byName[u.Name] == nil {
			s.Traits = append(s.Traits, u)
		}
	}
	for _, x := range list {
		if t := byName[x.Trait]; t != nil {
			s.Scores = append(s.Scores, Score{t.Title(), t.Word(x.Value), words.Day(x.On)})
		}
	}
}

func (s *Plant) family(plants []book.Plant) {
	for _, o := range plants {
		if o.SeedParent == s.ID || o.PollenParent == s.ID {
			s.Offspring = append(s.Offspring, o)
		}
		if o.ID != s.ID && genesOf(o) == genesOf(s.Plant) {
			s.Clones = append(s.Clones, o)
		}
	}
}

// genesOf is the plant whose genes a plant has.
func genesOf(p book.Plant) string { return cmp.Or(p.CloneOf, p.ID) }

// those are the ones of a list that are chosen.
func those[T any](list []T, chosen func(T) bool) []T {
	return slices.DeleteFunc(list, func(v T) bool { return !chosen(v) })
}
