package compose

import (
	"fmt"

	"hueward/report/words"
	"hueward/selection/book"
)

// HeadWords tells how far a head is.
func HeadWords(h book.Head) string {
	switch {
	case !h.Lost.IsZero():
		return "lost " + words.Day(h.Lost)
	case !h.Harvested.IsZero() && h.Seeds != nil:
		return fmt.Sprintf("harvested %s, %s", words.Day(h.Harvested), words.Count(*h.Seeds, "seed"))
	case !h.Harvested.IsZero():
		return "harvested " + words.Day(h.Harvested)
	case !h.StigmasDry.IsZero():
		return fmt.Sprintf("stigmas dry %s, pollinated on %s", words.Day(h.StigmasDry), words.Count(len(h.Pollinated), "day"))
	case len(h.Pollinated) > 0:
		return fmt.Sprintf("pollinated %s, %s so far", words.Day(h.Pollinated[len(h.Pollinated)-1]), words.Count(len(h.Pollinated), "day"))
	case !h.Bagged.IsZero() && !h.Emasculated.IsZero():
		return "bagged " + words.Day(h.Bagged) + ", emasculated " + words.Day(h.Emasculated)
	case !h.Emasculated.IsZero():
		return "emasculated " + words.Day(h.Emasculated) + ", to bag"
	case !h.Bagged.IsZero():
		return "bagged " + words.Day(h.Bagged)
	case h.Kind == book.KindOpen:
		return "left to bees and wind"
	}
	return "to bag"
}
