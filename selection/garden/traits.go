package garden

import (
	"context"
	"errors"
	"slices"
	"strings"

	"hueward/selection"
	"hueward/selection/ask"
	"hueward/selection/book"
	"hueward/selection/book/remedy"
	"hueward/selection/genetics"
	"hueward/selection/written"
)

// Traits reads "form>=3" and "form=0.5" into what a ranking takes, with the scores
// of the book, and the pedigree of all plants scored.
func Traits(ctx context.Context, b *book.Book, must, weigh []string) ([]selection.Trait, []genetics.Parents, error) {
	if len(must) == 0 && len(weigh) == 0 {
		return nil, nil, nil
	}
	var out []selection.Trait
	at := map[string]int{}
	find := func(name string) (*selection.Trait, *book.Trait, error) {
		t, err := b.Trait(ctx, strings.TrimSpace(name))
		if err != nil {
			return nil, nil, err
		}
		i, ok := at[t.Name]
		if !ok {
			i = len(out)
			at[t.Name] = i
			out = append(out, selection.Trait{Name: t.Title(), Score: map[string]float64{}, Less: t.Better == "less"})
		}
		return &out[i], t, nil
	}
	for _, m := range must {
		name, value, most, ok := cutLimit(m)
		if !ok {
			return nil, nil, askTrait(m, false, errors.New(`want a trait and its limit, such as form>=3 or "stem length<=60"`))
		}
		t, known, err := find(name)
		if err != nil {
			return nil, nil, err
		}
		v, err := known.Value(value)
		if err != nil {
			return nil, nil, askTrait(m, false, err)
		}
		if most {
			t.Most = &v
		} else {
			t.Least = &v
		}
	}
	for _, w := range weigh {
		name, value, ok := strings.Cut(w, "=")
		v, err := written.Number(value)
		if !ok || err != nil || !(v > 0 && v <= 20) {
			return nil, nil, askTrait(w, true,
				errors.New("want a trait and by how many Delta E one standard deviation counts, such as form=0.5"))
		}
		t, known, err := find(name)
		if err != nil {
			return nil, nil, err
		}
		if known.Better == "" {
			return nil, nil, askTrait(w, true,
				remedy.Step(remedy.SayBetter, known.Name).Errorf("the book does not say whether more or less %s is better; say it", known.Name))
		}
		t.Weight = v
	}
	var err error
	scores, pedigree, genes := ask.Of(ctx, &err, b.Scores, ""), ask.For(ctx, &err, b.Pedigree), Genotypes(ask.For(ctx, &err, b.Genotypes))
	if err != nil {
		return nil, nil, err
	}
	slices.SortStableFunc(scores, func(x, y book.Score) int { return x.On.Compare(y.On) }) // of one genotype the newest counts
	for _, s := range scores {
		if i, ok := at[s.Trait]; ok {
			out[i].Score[genes.Of(s.Plant)] = s.Value
		}
	}
	var ids []string
	for i := range out {
		for id := range out[i].Score {
			ids = append(ids, id)
		}
	}
	return out, genetics.Ancestry(genes.Pedigree(pedigree), ids), nil
}

// cutLimit takes "form>=3" apart.
func cutLimit(s string) (name, value string, most, ok bool) {
	if name, value, ok = strings.Cut(s, ">="); ok {
		return name, value, false, true
	}
	name, value, ok = strings.Cut(s, "<=")
	return name, value, true, ok
}
