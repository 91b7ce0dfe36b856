package selection

import (
	"fmt"
	"math"
	"strings"

	"hueward/selection/genetics"
	"hueward/selection/majorgene"
	"hueward/selection/space"
)

// state fills in Assumed and Warnings.
func (v *Values) state(records []Record, opt *ValueOptions, h2 float64) {
	say := func(format string, args ...any) { v.Assumed = append(v.Assumed, fmt.Sprintf(format, args...)) }
	doubt := func(format string, args ...any) { v.Warnings = append(v.Warnings, fmt.Sprintf(format, args...)) }
	v.Assumed = append(v.Assumed, v.GeneWords()...)
	if v.Genes != nil && !v.Genes.Exact {
		say("which strong genes plants carry is worked out step by step, and not exactly: the plants are related in too many ways")
	}
	if v.fewForGenes {
		say("colour adds up over many genes: fewer than %d plants have a colour, too few to look for strong genes", majorgene.Fewest)
	}
	if f := v.Fit; f != nil {
		said := fmt.Sprintf("%.1f", h2)
		if opt.Heritability == 0 {
			said += ", a guess"
		}
		say("heritability starts from %s, which counts as %.0f plants; with %s it is %s",
			said, priorPlants, count(len(records), "record"), v.heritabilities())
		if f.Plant != nil {
			say("what stays with a plant from season to season, but is not passed on, is told from weather by %d plants "+
				"with colours of two seasons", v.repeated)
		}
		if !f.Converged {
			doubt("the heritability had not settled after %d steps; values are less sure than they say", f.Iterations)
		}
		for _, what := range f.AtEdge {
			if what == "additive" {
				doubt("in some direction of colour the plants' relatives do not resemble each other at all: little can be bred there")
			} else {
				doubt("in some direction of colour all differences between plants seem to pass on: the heritability may be too high")
			}
		}
	}
	if v.eval.Approximate {
		say("how sure each value is was worked out to about 5 %%, as the book is large")
	}
	if len(v.Seasons) > 1 {
		if v.Fit != nil {
			say("a season shifts all colours by a standard deviation of %.1f in L*, %.1f in a*, %.1f in b*, estimated from %s together with a "+
				"guess (%.1f) that counts as %.0f",
				math.Sqrt(v.SeasonVar[0]), math.Sqrt(v.SeasonVar[1]), math.Sqrt(v.SeasonVar[2]), count(len(v.Seasons), "season"), SeasonSD, SeasonPrior)
		} else {
			say("a season shifts all colours by a standard deviation of %.1f in L*, a* and b* (a guess)", SeasonSD)
		}
		if !v.connected(records) {
			doubt("no plant and no variety was grown in two seasons: weather is told from breeding only by parents and " +
				"offspring; grow a few plants of one variety every year")
		}
	}
	groups := 0
	for i := range int32(v.Ped.Groups()) {
		if v.Ped.ID(i) != "" {
			groups++
		}
	}
	if groups == 0 {
		say("founders are of one origin, and not inbred (no founder group is in the book)")
	}
}

// heritabilities returns the three estimates with their errors, in words.
func (v *Values) heritabilities() string {
	var parts []string
	for i, axis := range space.Axes {
		h2, se := v.Fit.Heritability(i)
		parts = append(parts, fmt.Sprintf("%.2f ± %.2f in %s", h2, se, axis))
	}
	return strings.Join(parts, ", ")
}

// connected reports whether a plant, or founders of one group, have records in two seasons.
func (v *Values) connected(records []Record) bool {
	season := map[int32]string{}
	for _, r := range records {
		at, _ := v.Ped.Place(r.Plant)
		keys := []int32{at}
		if v.Ped.Founder(at) {
			if group, _ := v.Ped.Parents(at); group != genetics.Unknown && v.Ped.ID(group) != "" {
				keys = append(keys, group)
			}
		}
		for _, k := range keys {
			if s, ok := season[k]; ok && s != r.Season {
				return true
			}
			season[k] = r.Season
		}
	}
	return false
}
