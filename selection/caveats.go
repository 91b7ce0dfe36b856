package selection

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// assume fills in Assumed: every number that was assumed rather than estimated.
func (r *Ranking) assume(groups []*group, df float64, given Target, opt *Options) {
	say := func(format string, args ...any) { r.Assumed = append(r.Assumed, fmt.Sprintf(format, args...)) }
	if given.Within == 0 {
		say("tolerance %.1f Delta E (none was given)", r.Target.Within)
	}
	if r.Held {
		say("chance: that the plant is true, by its own photos alone")
	} else if opt.Keep == 0 {
		say("keep the nearest quarter, but at least 2: %d of %d", r.Keep, len(groups))
	}
	guess := fmt.Sprintf("%.1f in L*, %.1f in a*, %.1f in b*", priorSD[0], priorSD[1], priorSD[2])
	if df == 0 {
		say("scatter between photos of one plant: standard deviation %s (a guess; no plant has two photos)", guess)
	} else {
		sd := func(i int) float64 { return math.Sqrt(r.Photo[i][i]) }
		plants, photos := 0, 0
		for _, g := range groups {
			if n := len(g.photos); n > 1 {
				plants, photos = plants+1, photos+n
			}
		}
		say("scatter between photos of one plant: standard deviation %.1f in L*, %.1f in a*, %.1f in b*, estimated from %s of %s "+
			"together with a guess (%s) that counts as %.0f photos",
			sd(0), sd(1), sd(2), count(photos, "photo"), count(plants, "plant"), guess, priorPhotos)
	}
	flagged, noCard := 0, 0
	for _, g := range groups {
		for _, p := range g.photos {
			switch {
			case p.NoCard:
				noCard++
			case p.Check:
				flagged++
			}
		}
	}
	if flagged > 0 {
		say("a flagged photo scatters %.0f times as much as a sound one (a guess; %s)", math.Sqrt(flaggedK), count(flagged, "photo"))
	}
	if noCard > 0 {
		say("a photo without a grey card scatters %.0f times as much (a guess; %s)", math.Sqrt(noCardK), count(noCard, "photo"))
	}
	for _, q := range r.Repeatability {
		if !q.Known {
			say("repeatability of %s about %.2f (not estimated: it needs 2 plants that differ and one with 2 photos)", q.Of, q.Value)
		}
	}
	if r.Held {
		return
	}
	if len(groups) < fewPlants && !r.ByValue {
		say("chance of being kept: by each plant's own error alone, as fewer than %d plants do not show how the line scatters", fewPlants)
	} else if r.ByValue {
		r.Assumed = append(r.Assumed, opt.Values.Assumed...)
	} else {
		say("chance of being kept: the line's plants scatter normally around their mean")
	}
}

// warn fills in Warnings.
func (r *Ranking) warn(groups []*group) {
	say := func(format string, args ...any) { r.Warnings = append(r.Warnings, fmt.Sprintf(format, args...)) }
	noCard, total := 0, 0
	var single []string
	for _, g := range groups {
		for _, p := range g.photos {
			total++
			if p.NoCard {
				noCard++
			}
			if p.odd {
				say("plant %s: %s is Delta E %.1f away from its other photos and counts for less; see whether it shows the same plant, in sound "+
					"light", g.id, photoName(p), p.away)
			}
		}
		switch {
		case g.apart > 0 && len(g.photos) == 2:
			say("plant %s: its two photos, %s and %s, differ by Delta E %.1f; photograph it a third time", g.id, photoName(g.photos[0]),
				photoName(g.photos[1]), g.apart)
		case g.apart > 0:
			say("plant %s: its photos differ by up to Delta E %.1f, more than those of other plants; photograph it again", g.id, g.apart)
		}
		if len(g.photos) == 1 {
			single = append(single, g.id)
		}
	}
	switch {
	case noCard == total:
		say("no photo has a grey card: compare only photos taken in the same light, and lay a card beside the bloom next time")
	case noCard > 0:
		say("%s measured without a grey card count for little beside the others", count(noCard, "photo"))
	}
	if n := len(single); n > 0 && n < len(groups) && n <= 5 {
		each := "only one photo each of %s: a second of each would make it surer"
		if n == 1 {
			each = "only one photo of %s: a second would make it surer"
		}
		say(each, strings.Join(single, ", "))
	} else if n == 1 {
		say("only one photo of the plant: a second would show how far one photo can be trusted")
	} else if n > 0 {
		say("only one photo each of %s: a second of each would show how far one photo can be trusted", count(n, "plant"))
	}
	r.warnTrueness(say)
	if len(groups) == 1 {
		say("only one plant was measured: there is nothing to choose from")
	}
}

// warnTrueness warns where the camera's own error is more than half the tolerance. All plants
// share that error, so it changes their distances but hardly their order.
func (r *Ranking) warnTrueness(say func(string, ...any)) {
	if r.Target.Measured {
		return
	}
	var t []float64
	for _, p := range r.Plants {
		t = append(t, p.Trueness)
	}
	slices.Sort(t)
	if m := t[len(t)/2]; m > r.Target.Within/2 {
		say("the camera may be off by Delta E %.1f, the same for all plants, and the target is given in numbers: the distances are less sure "+
			"than the order; a target measured from a photo taken the same way would not suffer", m)
	}
}

func photoName(p photo) string {
	if p.Photo == "" {
		return "a photo"
	}
	return p.Photo
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
