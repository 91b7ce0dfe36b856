package garden

import (
	"context"
	"fmt"
	"strings"

	"hueward/selection/book"
	"hueward/selection/calendar"
)

// CropOf is the crop of a line with the grower's own values in; ok is false, and the crop
// "other", where it was not said.
func CropOf(ctx context.Context, b *book.Book, line string) (c calendar.Crop, ok bool, err error) {
	crops, err := Crops(ctx, b)
	if err != nil {
		return c, false, err
	}
	if c, ok = crops.Of(line); !ok {
		c, _ = calendar.Named("other")
	}
	return c, ok, nil
}

// AdviseCross says what a new cross needs beside its bag: own pollen kept out, or where
// seed is saved open, the distance and the count of parents that keep it true; and when its
// parents' chromosomes do not fit.
func AdviseCross(ctx context.Context, b *book.Book, c *book.Cross) ([]string, error) {
	seed, err := b.Plant(ctx, c.SeedParent)
	if err != nil {
		return nil, err
	}
	crop, said, err := CropOf(ctx, b, seed.Line)
	if err != nil || !said {
		return nil, err
	}
	switch {
	case c.Kind == book.KindOpen:
		return []string{"Seed saved open stays the line's own only " + crop.Isolation() + "."}, nil
	case c.Kind == book.KindSelf && crop.Self == calendar.SelfSterile:
		return []string{fmt.Sprintf("A %s sets hardly any seed to its own pollen: expect little.", crop.Title)}, nil
	case c.Kind == book.KindSelf:
		return nil, nil
	}
	var out []string
	if crop.OwnPollen() {
		out = append(out, "Keep its own pollen out, or some of the offspring will be selfs: "+crop.Emasculate+".")
	}
	if c.PollenParent == "" {
		return out, nil
	}
	pollen, err := b.Plant(ctx, c.PollenParent)
	if err != nil {
		return nil, err
	}
	other, said, err := CropOf(ctx, b, pollen.Line)
	switch {
	case err != nil || !said || other.Name == crop.Name:
	case other.Genus != crop.Genus:
		out = append(out, fmt.Sprintf("%s and %s are of two genera: such a cross hardly ever sets seed.", crop.Title, other.Title))
	case other.Sets != crop.Sets && other.Sets != 0 && crop.Sets != 0:
		out = append(out, fmt.Sprintf("%s has %d sets of chromosomes and %s %d: their offspring set hardly any seed.", crop.Title, crop.Sets,
			other.Title, other.Sets))
	}
	return out, err
}

// OpenAdvice says of heads just harvested that were left to bees and wind what keeps their
// seed the line's own; empty: there is none, or their crops were not said.
func OpenAdvice(ctx context.Context, b *book.Book, heads []book.Head) (string, error) {
	var names []string
	crop := calendar.Crop{}
	for _, h := range heads {
		if h.Kind != book.KindOpen {
			continue
		}
		c, said, err := CropOf(ctx, b, h.Line)
		if err != nil {
			return "", err
		}
		if said && (len(names) == 0 || c.Name == crop.Name) {
			crop, names = c, append(names, h.Name)
		}
	}
	if len(names) == 0 {
		return "", nil
	}
	return "the seed of " + strings.Join(names, ", ") + " was saved open: it stays the line's own only " + crop.Isolation(), nil
}

// OwnPollen tells of heads whether their own pollen must be kept out: of a cross of two
// plants by hand, in a crop that sets seed to it.
func OwnPollen(ctx context.Context, b *book.Book) (func(book.Head) bool, error) {
	crops, err := Crops(ctx, b)
	return func(h book.Head) bool {
		c, said := crops.Of(h.Line)
		return said && c.OwnPollen() && (h.Kind == book.KindCross || h.Kind == book.KindSib)
	}, err
}

// SelfRisk are those of the heads whose own pollen was not kept out of a cross, in a crop
// that sets seed to it: some of their offspring will be selfs.
func SelfRisk(ctx context.Context, b *book.Book, heads []book.Head) (names []string, err error) {
	needs, err := OwnPollen(ctx, b)
	if err != nil {
		return nil, err
	}
	for _, h := range heads {
		if needs(h) && len(h.Pollinated) > 0 && (h.Emasculated.IsZero() || h.Emasculated.After(h.Pollinated[0])) {
			names = append(names, h.Name)
		}
	}
	return names, nil
}
