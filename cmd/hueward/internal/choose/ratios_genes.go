package choose

import (
	"cmp"
	"context"
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/garden"
)

// byGenes sorts a family of one colour class anew by the strong genes that its whole line shows, where
// these part it: relatives tell classes that 40 plants alone do not.
func (f *family) byGenes(ctx context.Context, b *book.Book, colors map[string]selection.Record) error {
	if len(f.classes) != 1 {
		return nil
	}
	ids := f.classes[0].plants
	plants, err := b.Plants(ctx, book.PlantFilter{IDs: ids[:1]})
	if err != nil || len(plants) == 0 {
		return err
	}
	v, err := garden.Values(ctx, b, plants[0].Line, "")
	if err != nil || v == nil || v.Genes == nil {
		return err
	}
	var places []int32
	for _, id := range ids {
		at, ok := v.Ped.Place(id)
		if !ok { // of another line, or a cutting of another plant
			return nil
		}
		places = append(places, at)
	}
	kinds := v.Genes.Sort(v.Ped, places)
	if len(kinds) < 2 {
		return nil
	}
	var found []colorClass
	for _, k := range kinds {
		c := classOf(ids, k.Members, k.Sure)
		c.expect = k.Expected
		var m cie.Lab
		for _, id := range c.plants {
			x, n := colors[id].Lab, float64(len(c.plants))
			m.L, m.A, m.B = m.L+x.L/n, m.A+x.A/n, m.B+x.B/n
		}
		c.mean = &m
		found = append(found, c)
	}
	slices.SortStableFunc(found, func(x, y colorClass) int { return cmp.Compare(y.mean.L, x.mean.L) })
	nameByColor(found)
	f.classes, f.genes, f.rise = found, true, 0
	return nil
}
