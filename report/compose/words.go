package compose

import (
	"cmp"
	"context"
	"fmt"
	"math"

	"hueward/report/words"
	"hueward/selection"
	"hueward/selection/book"
	"hueward/selection/calendar"
	"hueward/selection/garden"
	"hueward/selection/genetics"
	"hueward/selection/trend"
)

// HoldWords say how many parents hold a line, and whether there are as many; none for a line that is moved.
func HoldWords(ctx context.Context, b *book.Book, r *garden.Season) ([]string, error) {
	if !r.Ranking.Held {
		return nil, nil
	}
	crop, known, err := garden.CropOf(ctx, b, r.Line.Name)
	if err != nil {
		return nil, err
	}
	equal, lot := genetics.ParentsToHold(0.01)
	s := fmt.Sprintf("To hold the line with less than 1 %% more inbreeding a season takes %d parents that each give the same number of "+
		"plants, or %d if that is left to chance", equal, lot)
	need := equal
	if known {
		s += fmt.Sprintf("; usual for %s is %d", crop.Title, crop.Hold)
		need = min(crop.Hold, lot)
	}
	s += "."
	if n := r.Ranking.Keep; n < need {
		are := "are"
		if n == 1 {
			are = "is"
		}
		s += fmt.Sprintf(" There %s %s, %d too few: sow more of the seed that is left, and do not choose among the true ones.",
			are, words.Count(n, "true plant"), need-n)
	}
	if known && crop.Self == calendar.SelfFertile {
		s += " A variety that has been selfed every year is inbred already, and needs only a few plants."
	}
	return []string{s}, nil
}

// PairWords say what the chosen crosses of a season have in common, a sentence each.
func PairWords(r *garden.Season) []string {
	p := r.Pairing
	var out []string
	say := func(format string, args ...any) {
		out = append(out, words.Sentence(fmt.Sprintf(format, args...)))
	}
	if r.Ranking.Held {
		say("a held line is not moved: keep all true plants, %d of them, and drop the others before their pollen flies", r.Ranking.Keep)
		if len(p.Chosen) > 1 {
			say("by hand, cross each with the next, as below; or let them stand together, away from others of their kind, and take as much " +
				"seed from each")
		}
	} else if p.Only != "" {
		say("%s", p.Only)
	}
	if p.Few != "" {
		say("%s", p.Few)
	}
	self := 0
	for i := range p.Chosen {
		if p.Chosen[i].Kind == selection.KindSelf {
			self++
		}
	}
	switch bred := words.Percent(p.Bred); {
	case p.Bred < 0.005 && p.Parents < 0.005:
	case self > 0:
		say("their offspring are %s inbred on average, as selfs are among them; their parents are %s", bred, words.Percent(p.Parents))
	default:
		say("their offspring are %s inbred on average; their parents are %s", bred, words.Percent(p.Parents))
	}
	if p.Gain >= 0.005 && !r.Ranking.Held {
		say("the line as a whole loses %s of the variety that it can still be bred by", words.Percent(p.Gain))
	}
	return out
}

// shareWords returns a share with its standard error, such as a heritability; empty for an estimate outside
// 0 to 1, or one whose standard error is more than mostSE or not known.
func shareWords(value, se float64) string {
	if !(value >= 0 && value <= 1 && se <= mostSE) {
		return ""
	}
	return words.Fixed(value, 2) + " ± " + words.Fixed(se, 2)
}

// mostSE is the standard error from which a share is not shown: two standard errors to either side
// cover more than half of the range of a share.
const mostSE = 0.3

// TrendWords says what a trend means, a sentence each.
func TrendWords(r *trend.Result, hold bool) []string {
	var out []string
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	if p := r.ResponsePerSeason; p != nil {
		switch {
		case math.IsNaN(r.Risk) && r.ToldBy == trend.ByNothing:
			say("It cannot be said whether the line %s: weather would look the same.", map[bool]string{true: "drifts", false: "moves"}[hold])
		case math.IsNaN(r.Risk):
		case r.Moving && hold:
			say("The line drifts: chance and weather alone make means this different in %s of lines that do not drift.", words.Chance(r.Risk))
		case r.Moving && p.Value > 0 && p.Value < p.SE:
			say("The line moves, but at present not surely toward the target: by Delta E %s ± %s a season.",
				words.Fixed(p.Value, 1), words.Fixed(p.SE, 1))
		case r.Moving && p.Value > 0:
			say("The line moves, by Delta E %s ± %s a season toward the target.", words.Fixed(p.Value, 1), words.Fixed(p.SE, 1))
		case r.Moving:
			say("The line moves, but not toward the target.")
		case hold:
			say("There is no sign that the line drifts: its seasons differ by no more than chance and weather make them.")
		default:
			say("It cannot be said yet whether the line moves: its seasons differ by no more than chance and weather make them.")
		}
		if g := r.Genetic; g != nil && !hold && *g >= 0.05 {
			say("What the plants pass on came nearer by Delta E %s a season, as far as that can be told from weather.", words.Fixed(*g, 1))
		}
	}
	if h := r.RealisedHeritability; h != nil && !hold {
		if share := shareWords(h.Value, h.SE); share != "" {
			say("The offspring show %s of what the parents differed by (realised heritability).", share)
		} else {
			say("How much of what the parents differed by shows in their offspring (realised heritability) cannot be told yet: " +
				"there are too few seasons, or their weather hides it.")
		}
	}
	if !hold {
		switch a := r.SeasonsToTarget; {
		case a == nil && len(r.Seasons) > 1 && r.ToldBy == trend.ByNothing:
			say("Nor can it be said how many seasons remain.")
		case len(r.Seasons) > 1 && (a == nil || a.Value > 0 && r.Moving && r.ResponsePerSeason.Value < r.ResponsePerSeason.SE):
			say("The pace so far does not say when the mean will be within the tolerance; the plan shows what selection may do.")
		case a == nil:
		case a.Value == 0:
			say("The mean is within the tolerance.")
		case !r.Moving:
			say("If this pace is real, about %s left.", seasonsAre(a.Value))
		case a.High > farAhead: // +Inf too
			say("At this pace about %s left; how many at most cannot be said yet.", seasonsAre(a.Value))
		default:
			say("At this pace about %s left (%s to %s).", seasonsAre(a.Value), words.Fixed(math.Ceil(a.Low), 0), words.Fixed(math.Ceil(a.High), 0))
		}
	}
	for _, h := range r.Heritability {
		if p := h.ParentOffspring; !math.IsNaN(p.Value) {
			alone := cmp.Or(shareWords(p.Value, p.SE), "it cannot be told")
			all := cmp.Or(shareWords(h.Value, h.SE), "not known")
			say("Heritability of %s: %s from all relatives; by parents and offspring alone %s.", h.Of, all, alone)
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

// farAhead is the number of seasons from which an upper bound is not shown: a grower's lifetime. A guess.
const farAhead = 30

// seasonsAre is "one season is" or "3 seasons are".
func seasonsAre(n float64) string {
	if n = math.Ceil(n); n <= 1 {
		return "one season is"
	}
	return words.Fixed(n, 0) + " seasons are"
}
