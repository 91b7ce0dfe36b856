package compose

import (
	"context"
	"fmt"
	"slices"
	"time"

	"hueward/colorimg/cie"
	"hueward/report/print"
	"hueward/report/words"
	"hueward/selection/ask"

	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/garden"
	"hueward/selection/genetics"
)

// PlantTags returns the tags of the plants named; without names, of those that grow in the season;
// empty: the newest season. Unprintable characters of an id are left to the caller.
func PlantTags(ctx context.Context, b *book.Book, args []string, season string, now time.Time) (tags []print.PlantTag, err error) {
	f := book.PlantFilter{Season: season}
	switch {
	case len(args) > 0:
		f.Season = ""
		f.IDs, err = b.Which(ctx, args)
	case season == "":
		f.Season, err = garden.SeasonNow(ctx, b, "", now)
	}
	plants := ask.Of(ctx, &err, b.Plants, f)
	gen := genetics.Generations(ask.For(ctx, &err, b.Pedigree))
	for _, p := range plants {
		if len(args) == 0 && p.Status != book.Growing && p.Status != book.Kept && p.Status != book.Reserve {
			continue
		}
		t := print.PlantTag{ID: p.ID, Line: p.Line, Parents: p.ParentWords(), Season: p.Season, Place: p.Place}
		if g := gen[p.ID]; g != genetics.Founder {
			t.Generation = g
		}
		tags = append(tags, t)
	}
	return tags, err
}

// HeadLabels returns the labels of the heads named; without names, of all heads of the
// season that are neither harvested nor lost; season empty: the newest that has any.
func HeadLabels(ctx context.Context, b *book.Book, args []string, season string) (list []print.HeadLabel, err error) {
	if len(args) > 0 {
		season = ""
	}
	heads, crosses := ask.Of(ctx, &err, b.Heads, season), ask.Of(ctx, &err, crossesByName, b)
	crops, names := ask.Of(ctx, &err, garden.Crops, b), ask.Of(ctx, &err, b.HeadNames, args)
	if err != nil {
		return nil, err
	}
	if len(args) > 0 {
		heads = slices.DeleteFunc(heads, func(h book.Head) bool { return !slices.Contains(names, h.Name) })
	} else {
		heads = slices.DeleteFunc(heads, func(h book.Head) bool { return !h.Lost.IsZero() || !h.Harvested.IsZero() })
		heads = Newest(heads, func(h book.Head) string { return h.Season })
	}
	for _, h := range heads {
		crop, _ := crops.Of(h.Line)
		l := print.HeadLabel{Name: h.Name, Cross: h.Cross, Line: h.Line, Days: crop.Days}
		if c, ok := crosses[h.Cross]; ok {
			l.Parents, l.Open = c.Words(), c.Kind == book.KindOpen
			l.OwnPollen = (c.Kind == book.KindCross || c.Kind == book.KindSib) && crop.OwnPollen()
		}
		list = append(list, l)
	}
	return list, nil
}

// Newest returns the elements of the newest season in the list.
func Newest[T any](list []T, season func(T) string) []T {
	last := ""
	for _, v := range list {
		if s := season(v); last == "" || selection.CompareIDs(s, last) > 0 {
			last = s
		}
	}
	return slices.DeleteFunc(list, func(v T) bool { return season(v) != last })
}

func crossesByName(ctx context.Context, b *book.Book) (map[string]book.Cross, error) {
	list, err := b.Crosses(ctx, "")
	out := map[string]book.Cross{}
	for _, c := range list {
		out[c.Name] = c
	}
	return out, err
}

// packetCaution is printed on every packet, and boughtCaution on bought seed: the
// usual warnings of the trade; local rules come first.
const (
	packetCaution = "Not food. Keep from children and animals, dry and cool."
	boughtCaution = "Not food. A protected variety may not be sold or shared without its owner's leave."
)

// PacketLabels returns the labels of the packets named; without names, of those of the season; empty: the newest that has any.
func PacketLabels(ctx context.Context, b *book.Book, args []string, season string) (list []print.PacketLabel, err error) {
	if len(args) > 0 {
		season = ""
	}
	packets, names := ask.Of(ctx, &err, b.Packets, season), ask.Of(ctx, &err, b.PacketNames, args)
	crosses, crops := ask.Of(ctx, &err, crossesByName, b), ask.Of(ctx, &err, garden.Crops, b)
	pedigree := ask.For(ctx, &err, b.Pedigree)
	if err != nil {
		return nil, err
	}
	if len(args) > 0 {
		packets = slices.DeleteFunc(packets, func(p book.Packet) bool { return !slices.Contains(names, p.Name) })
	} else {
		packets = Newest(packets, func(p book.Packet) string { return p.Season })
	}
	var parents []string
	for _, p := range packets {
		if c, ok := crosses[p.Cross]; ok {
			for _, id := range []string{c.SeedParent, c.PollenParent} {
				if id != "" { // of an open head, or where it is not known
					parents = append(parents, id)
				}
			}
			// A plant grown from the seed, to get its generation.
			pedigree = append(pedigree, genetics.Parents{ID: "seed of " + p.Name, Seed: c.SeedParent, Pollen: c.PollenParent})
		}
	}
	gen := genetics.Generations(pedigree)
	colors, err := garden.ShownColors(ctx, b, parents)
	if err != nil {
		return nil, err
	}
	for _, p := range packets {
		crop, said := crops.Of(p.Line)
		l := print.PacketLabel{Name: p.Name, Line: p.Line, Season: p.Season, Of: p.FounderGroup, Generation: gen["seed of "+p.Name],
			Species: crop.Title, Date: words.Day(p.Made), Germination: germinationWords(p.Tests), Place: p.Place,
			Caution: packetCaution}
		if p.FounderGroup != "" {
			l.Caution = boughtCaution
		}
		if p.Seeds != nil {
			l.Seeds = words.Count(*p.Seeds, "seed")
			if p.ByWeight {
				l.Seeds = "about " + l.Seeds
			}
		}
		if said {
			if by := crop.SowBy(p.Made); !by.IsZero() {
				l.SowBy = by.Format("2006")
			}
			if crop.Caution != "" && p.FounderGroup == "" {
				l.Caution = words.Sentence(crop.Caution) + " " + l.Caution
			}
		}
		if c, ok := crosses[p.Cross]; ok {
			l.Of = c.Words()
			if said && c.Kind == book.KindOpen {
				l.Isolation = fmt.Sprintf("Saved open: true to the line only without others within %d m; from %d plants or more.",
					crop.Distance, crop.Hold)
			}
			for i, id := range []string{c.SeedParent, c.PollenParent} {
				if id == "" || i == 1 && id == c.SeedParent {
					continue
				}
				parent := print.Parent{ID: id}
				if c, ok := colors[id]; ok {
					parent.Color, parent.Hex, parent.Lab = cie.Name(c), c.Hex(), [3]float64{c.L, c.A, c.B}
				}
				l.Parents = append(l.Parents, parent)
			}
		}
		list = append(list, l)
	}
	return list, nil
}

// germinationWords returns the result and the day of the newest finished germination test; empty: there is none.
func germinationWords(tests []book.GerminationTest) string {
	s := ""
	for _, t := range tests {
		if !t.Read.IsZero() && t.Seeds > 0 {
			s = fmt.Sprintf("%d of %d sprouted, %s", t.Sprouted, t.Seeds, words.Day(t.Read))
		}
	}
	return s
}
