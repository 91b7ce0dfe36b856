package compose

import (
	"fmt"
	"math"

	"hueward/report/words"
	"hueward/selection"
	"hueward/selection/trend"
)

// HoldWords says how many parents hold a line.
func HoldWords() string {
	equal, lot := selection.ParentsToHold(0.01)
	return fmt.Sprintf("To hold the line with less than 1 %% more inbreeding a season: %d parents that each give the same number of "+
		"plants, or %d where it is left to chance. A variety that is selfed every year is inbred already, and needs a few plants only.", equal,
		lot)
}

// TrendWords says what a trend means, a sentence each.
func TrendWords(r *trend.Result, hold bool) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if p := r.ResponsePerSeason; p != nil {
		switch {
		case math.IsNaN(r.Risk) && r.ToldBy == trend.ByNothing:
			say("Whether the line moves cannot be told from weather.")
		case math.IsNaN(r.Risk):
		case r.Moving && hold:
			say("The line moves: means so different would come of chance and weather in %s of lines that stand.", words.Chance(r.Risk))
		case r.Moving && p.Value > 0:
			say("The line moves, by Delta E %s ± %s a season toward the target.", words.Fixed(p.Value, 1), words.Fixed(p.SE, 1))
		case r.Moving:
			say("The line moves, but not toward the target.")
		case hold:
			say("Nothing says that the line moves: its seasons differ by no more than chance and weather make them.")
		default:
			say("It cannot be said yet that the line moves: its seasons differ by no more than chance and weather make them.")
		}
		if g := r.Genetic; g != nil && !hold && *g >= 0.05 {
			say("What the plants pass on came nearer by Delta E %s a season, the weather apart as far as that can be told.", words.Fixed(*g, 1))
		}
	}
	if h := r.RealisedHeritability; h != nil && !hold {
		say("Of what the parents differed by, %s ± %s came back in their offspring (realised heritability).", words.Fixed(h.Value, 2),
			words.Fixed(h.SE, 2))
	}
	if !hold {
		switch a := r.SeasonsToTarget; {
		case a == nil && len(r.Seasons) > 1 && r.ToldBy == trend.ByNothing:
			say("How many seasons are to go cannot be told from weather either.")
		case a == nil && len(r.Seasons) > 1:
			say("At this pace the mean does not come within the tolerance.")
		case a == nil:
		case a.Value == 0:
			say("The mean is within the tolerance.")
		case math.IsInf(a.High, 1):
			say("At this pace about %s seasons are to go; how many at most cannot be said yet.", words.Fixed(math.Ceil(a.Value), 0))
		default:
			say("At this pace about %s seasons are to go (%s to %s).", words.Fixed(math.Ceil(a.Value), 0), words.Fixed(math.Ceil(a.Low), 0),
				words.Fixed(math.Ceil(a.High), 0))
		}
	}
	for _, h := range r.Heritability {
		if p := h.ParentOffspring; !math.IsNaN(p.Value) {
			say("Heritability of %s: %s ± %s from all relatives; by parents and offspring alone %s ± %s.", h.Of, words.Fixed(h.Value, 2),
				words.Fixed(h.SE, 2), words.Fixed(p.Value, 2), words.Fixed(p.SE, 2))
		}
	}
	if c := r.EWMA; c != nil && c.Out {
		say("The moving average of the seasons has left its limits around the target: select against the drift.")
	}
	if hold && len(r.Seasons) > 0 && len(r.OffTypes) == 0 && r.Seasons[len(r.Seasons)-1].Plants >= 8 {
		say("No off-types among the plants of season %s.", r.Seasons[len(r.Seasons)-1].Season)
	}
	return out
}
