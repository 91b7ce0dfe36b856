package garden

import (
	"context"
	"slices"

	"hueward/selection/book"
	"hueward/selection/genetics"
)

// Genotypes says of plants that are tubers, cuttings or divisions of another whose genes they have. To the genetics all
// of one genotype are one plant, under the id of the one grown of seed: its photos of all of them are repeated
// readings, it has one breeding value, and it is ranked once.
type Genotypes map[string]string

// GenotypesOf reads them from the book.
func GenotypesOf(ctx context.Context, b *book.Book) (Genotypes, error) {
	g, err := b.Genotypes(ctx)
	return g, err
}

// Of is the plant whose genes it has: itself, for all that were grown of seed.
func (g Genotypes) Of(plant string) string {
	if root, ok := g[plant]; ok {
		return root
	}
	return plant
}

// all are the plants with the genes of those named, these among them.
func (g Genotypes) all(roots []string) []string {
	out := slices.Clone(roots)
	for plant, root := range g {
		if slices.Contains(roots, root) && !slices.Contains(out, plant) {
			out = append(out, plant)
		}
	}
	slices.Sort(out)
	return out
}

// readings puts readings under the plants of seed, in place.
func (g Genotypes) readings(list []book.Reading) {
	if len(g) == 0 {
		return
	}
	for i := range list {
		list[i].Plant = g.Of(list[i].Plant)
	}
}

// Pedigree is the pedigree of the plants of seed alone.
func (g Genotypes) Pedigree(list []genetics.Parents) []genetics.Parents {
	if len(g) == 0 {
		return list
	}
	var out []genetics.Parents
	for _, p := range list {
		if _, clone := g[p.ID]; !clone {
			p.Seed, p.Pollen = g.Of(p.Seed), g.Of(p.Pollen)
			out = append(out, p)
		}
	}
	return out
}

// plants are the plants of seed by id. One of which a tuber, cutting or division grows in
// the season is a plant of that season, and not gone before all of them are.
func (g Genotypes) plants(list []book.Plant, season string) map[string]book.Plant {
	out := make(map[string]book.Plant, len(list))
	for _, p := range list {
		if _, clone := g[p.ID]; !clone {
			out[p.ID] = p
		}
	}
	for _, p := range list {
		root, ok := out[g[p.ID]]
		if !ok || season != "" && p.Season != season {
			continue
		}
		if season != "" {
			root.Season = season
		}
		switch {
		case gone(p.Status) != "":
		case root.Status == book.Lost, root.Status == book.Growing:
			root.Status = p.Status
		}
		out[root.ID] = root
	}
	return out
}
