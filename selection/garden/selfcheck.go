package garden

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"hueward/selection"
	"hueward/selection/ask"
	"hueward/selection/book"
	"hueward/selection/calendar"
	"hueward/selection/genetics"
	"hueward/selection/selfed"
)

// SelfCheck is a family of which some may be selfs, as the seed parent's own pollen was not
// kept out, and what the colours say.
type SelfCheck struct {
	Cross    book.Cross
	Noted    bool     // heads of it are noted, and not all of them were emasculated; else nothing is known of its heads
	Measured []string // offspring with a colour, in natural order
	Result   *selfed.Result
}

// Selfs are the offspring that match the seed parent, in natural order.
func (c *SelfCheck) Selfs() (ids []string) {
	for _, id := range c.Measured {
		if c.Result.Self(id) {
			ids = append(ids, id)
		}
	}
	return ids
}

// Words tell it in a sentence; empty where no offspring is flagged.
func (c *SelfCheck) Words() string {
	selfs := c.Selfs()
	if len(selfs) == 0 {
		return ""
	}
	s := fmt.Sprintf("%s of %s match their seed parent %s, whose own pollen was not noted as kept out: they may be selfs, not offspring of %s",
		strings.Join(selfs, ", "), c.Cross.Name, c.Cross.SeedParent, c.Cross.PollenParent)
	if len(selfs) == 1 {
		s = strings.Replace(strings.Replace(s, " match their ", " matches its ", 1), "they may be selfs, not", "it may be a self, not", 1)
	}
	if c.Result.All {
		s += "; or its colour is dominant, as nearly all of the family look like it"
	}
	return s
}

// SelfChecks looks at the families of hand-made crosses in crops that set seed to their own pollen, where it was not
// noted as kept out; of the line and of offspring in the season, or of all where these are empty. Families of related
// parents are left out: in a backcross or a sib cross some offspring look like the seed parent without being selfs.
func SelfChecks(ctx context.Context, b *book.Book, line, season string) ([]SelfCheck, error) {
	families, err := b.CrossOffspring(ctx, line, season)
	if err != nil || len(families) == 0 {
		return nil, err
	}
	crops, pedigree := ask.Of(ctx, &err, Crops, b), ask.For(ctx, &err, b.Pedigree)
	crosses, heads := ask.Of(ctx, &err, b.Crosses, ""), ask.Of(ctx, &err, b.Heads, "")
	if err != nil {
		return nil, err
	}
	of := map[string][]book.Head{}
	for _, h := range heads {
		of[h.Cross] = append(of[h.Cross], h)
	}
	var out []SelfCheck
	var ids []string
	for _, c := range crosses {
		family := families[c.Name]
		crop, said := crops.Of(c.Line)
		if c.Kind != book.KindCross && c.Kind != book.KindSib || c.PollenParent == "" || len(family) == 0 || !said || !crop.OwnPollen() {
			continue
		}
		if related(pedigree, c.SeedParent, c.PollenParent) {
			continue
		}
		risk, err := SelfRisk(ctx, b, of[c.Name])
		if err != nil {
			return nil, err
		}
		pollinated := slices.ContainsFunc(of[c.Name], func(h book.Head) bool { return len(h.Pollinated) > 0 })
		if pollinated && len(risk) == 0 {
			continue // kept out
		}
		out = append(out, SelfCheck{Cross: c, Noted: pollinated, Measured: family})
		ids = append(append(ids, c.SeedParent, c.PollenParent), family...)
	}
	slices.Sort(ids)
	colors, err := ShownColors(ctx, b, slices.Compact(ids))
	if err != nil {
		return nil, err
	}
	for i := range out {
		c := &out[i]
		seed, ok1 := colors[c.Cross.SeedParent]
		pollen, ok2 := colors[c.Cross.PollenParent]
		var family []selfed.Offspring
		c.Measured = slices.DeleteFunc(c.Measured, func(id string) bool { _, ok := colors[id]; return !ok || !ok1 || !ok2 })
		slices.SortFunc(c.Measured, selection.CompareIDs)
		for _, id := range c.Measured {
			family = append(family, selfed.Offspring{ID: id, Lab: colors[id]})
		}
		c.Result = selfed.Find(seed, pollen, family)
	}
	return out, nil
}

// related reports whether two plants have an ancestor in common, themselves included.
func related(pedigree []genetics.Parents, x, y string) bool {
	of := map[string]bool{}
	for _, p := range genetics.Ancestry(pedigree, []string{x}) {
		of[p.ID] = true
	}
	return slices.ContainsFunc(genetics.Ancestry(pedigree, []string{y}), func(p genetics.Parents) bool { return of[p.ID] })
}

// SetsSelfs says that the line's crop sets little seed to its own pollen, so that no plant
// is selfed; empty: it sets some, or no crop was said.
func SetsSelfs(ctx context.Context, b *book.Book, line string) (not string, err error) {
	c, ok, err := CropOf(ctx, b, line)
	if err != nil || !ok || c.Self != calendar.SelfSterile {
		return "", err
	}
	return "no plant is selfed: " + c.Title + " sets little or no seed to its own pollen", nil
}
