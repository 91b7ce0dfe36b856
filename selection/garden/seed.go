package garden

import (
	"context"
	"fmt"
	"math"
	"time"

	"hueward/selection/book"
	"hueward/selection/calendar"
	"hueward/selection/seedlife"
)

// SeedAge is how old a packet's seed is on a day, and what is expected of it.
type SeedAge struct {
	Years    float64   // 0: its day is not known
	Expected float64   // share that sprouts, 0 to 1
	SowBy    time.Time // zero: its day is not known
	Tested   bool      // a germination test was read
	Old      bool      // after SowBy
}

// AgeOf tells the age of a packet's seed on a day; ok is false where its line's crop was not said.
func AgeOf(ctx context.Context, b *book.Book, p *book.Packet, on time.Time) (a SeedAge, ok bool, err error) {
	crop, said, err := CropOf(ctx, b, p.Line)
	if err != nil || !said {
		return a, false, err
	}
	return ageOf(crop, p, on), true, nil
}

func ageOf(crop calendar.Crop, p *book.Packet, on time.Time) SeedAge {
	a := SeedAge{SowBy: crop.SowBy(p.Made)}
	var tests []seedlife.Test
	for _, t := range p.Tests {
		if !t.Read.IsZero() {
			a.Tested = true
			tests = append(tests, seedlife.Test{On: t.Read, Seeds: t.Seeds, Sprouted: t.Sprouted})
		}
	}
	a.Expected = seedlife.Expected(seedlife.Kind{Fresh: float64(crop.Fresh) / 100, Years: float64(crop.Life)}, p.Made, on, tests...)
	if !p.Made.IsZero() {
		a.Years = max(0, on.Sub(p.Made).Hours()/24/365.25)
		a.Old = on.After(a.SowBy)
	}
	return a
}

// weak is the expected share of seed that sprouts below which sowing is warned of, as it
// takes twice the seed. Common practice, no source.
const weak = 0.5

// Warning says at sowing how old seed is and how much of it is likely to come, where that
// is little; empty: nothing to warn of.
func (a SeedAge) Warning(packet string, seeds int) string {
	if !a.Old && a.Expected >= weak {
		return ""
	}
	by := "by its crop's usual years"
	if a.Tested {
		by = "by its germination test and age"
	}
	s := fmt.Sprintf("packet %s: about %.0f %% of its seed is likely to sprout, %s, so %.0f of %d seeds", packet, 100*a.Expected, by,
		math.Round(a.Expected*float64(seeds)), seeds)
	if a.Years >= 1 {
		s = fmt.Sprintf("packet %s is %.0f years old: about %.0f %% of its seed is likely to sprout, %s, so %.0f of %d seeds", packet, a.Years,
			100*a.Expected, by, math.Round(a.Expected*float64(seeds)), seeds)
	}
	return s + "; sow more, or test it first"
}

// SeedsIn is how many seeds a weight is likely to be: as the packet's own count and weight
// say, else as its line's crop does.
func SeedsIn(ctx context.Context, b *book.Book, grams float64, line string, p *book.Packet) (int, error) {
	if p != nil && p.Seeds != nil && p.Grams > 0 && *p.Seeds > 0 {
		return seeds(grams, float64(*p.Seeds)/p.Grams)
	}
	crop, said, err := CropOf(ctx, b, line)
	if err != nil {
		return 0, err
	}
	if !said {
		return 0, fmt.Errorf("%g g may be any number of seeds, as line %s has no crop yet; give the seeds, or set its crop first", grams, line)
	}
	return seeds(grams, float64(crop.PerGram))
}

// seeds is how many seeds weigh so many grams, at perGram seeds a gram.
func seeds(grams, perGram float64) (int, error) {
	n := math.Round(grams * perGram)
	if n < 1 {
		return 0, fmt.Errorf("%g g is less than half a seed, at about %.4g seeds a gram; weigh it again, or give the seeds", grams, perGram)
	}
	return int(n), nil
}

// PollenUntil is the last day that stored pollen is good for: as was said, or as its crop says.
func PollenUntil(ctx context.Context, b *book.Book, p book.Pollen) (time.Time, error) {
	crop, _, err := CropOf(ctx, b, p.Line)
	return crop.GoodUntil(calendar.Pollen{Collected: p.Collected, Until: p.GoodUntil}), err
}

// PollenWords tell how far stored pollen is, without its name.
func PollenWords(ctx context.Context, b *book.Book, p book.Pollen) (string, error) {
	until, err := PollenUntil(ctx, b, p)
	if err != nil {
		return "", err
	}
	s := fmt.Sprintf("pollen of %s, collected %s", p.Plant, p.Collected.Format(time.DateOnly))
	switch {
	case !p.UsedUp.IsZero():
		return s + ", used up " + p.UsedUp.Format(time.DateOnly), nil
	case p.Dried.IsZero():
		s += ", to dry"
	}
	return s + ", good until about " + until.Format(time.DateOnly), nil
}

// PollinateDoubts say of heads just pollinated that the stored pollen of their cross was too
// old, or used up, on that day.
func PollinateDoubts(ctx context.Context, b *book.Book, heads []book.Head, on time.Time) (doubts []string, err error) {
	of := map[string]bool{}
	for _, h := range heads {
		of[h.Cross] = true
	}
	crosses, err := b.Crosses(ctx, "")
	if err != nil {
		return nil, err
	}
	for i := range crosses {
		c := &crosses[i]
		if !of[c.Name] {
			continue
		}
		c.MadeOn = on
		if doubt, err := PollenDoubt(ctx, b, c); err != nil {
			return nil, err
		} else if doubt != "" {
			doubts = append(doubts, doubt)
		}
	}
	return doubts, nil
}

// PollenDoubt says that the stored pollen of a cross was too old, or used up, on the day of
// it; empty: it was not, or none was used.
func PollenDoubt(ctx context.Context, b *book.Book, c *book.Cross) (string, error) {
	if c.Pollen == "" {
		return "", nil
	}
	p, err := b.PollenNamed(ctx, c.Pollen)
	if err != nil {
		return "", err
	}
	until, err := PollenUntil(ctx, b, *p)
	switch {
	case err != nil:
		return "", err
	case c.MadeOn.After(until):
		return fmt.Sprintf("pollen %s was good until about %s: it may set no seed", p.Name, until.Format(time.DateOnly)), nil
	case !p.UsedUp.IsZero() && c.MadeOn.After(p.UsedUp):
		return fmt.Sprintf("pollen %s was used up on %s; noted all the same", p.Name, p.UsedUp.Format(time.DateOnly)), nil
	}
	return "", nil
}
