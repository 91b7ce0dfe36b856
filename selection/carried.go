package selection

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"hueward/colorimg/cie"
	"hueward/selection/classes"
	"hueward/selection/space"
)

// Carried is a colour that a plant carries hidden: by one allele of a strong gene that one copy does not show.
type Carried struct {
	Lab    cie.Lab // the plant's colour if it had two copies of the allele
	Words  string  // how Lab differs from the colour that the plant shows
	Chance float64 // that the plant carries it
	locus  int
}

// Carries returns the colours that a plant carries hidden with a chance of at least 5 %; nil where no strong genes were found.
func (v *Values) Carries(plant string) []Carried {
	at, ok := v.Ped.Place(plant)
	if v.Genes == nil || !ok {
		return nil
	}
	var out []Carried
	m := v.Genes
	var x space.Vector
	copy(x[:], v.eval.Value(at))
	for l := range m.Loci {
		p := m.Hidden(m.Of(at), l)
		if p < 0.05 {
			continue
		}
		g := int(math.Pow(3, float64(l))) * 2 // the second homozygote of this locus alone
		shown, hidden := space.Lab(space.Plus(x, m.Effects[0])), space.Lab(space.Plus(x, m.Effects[g]))
		if words := cie.Direction(hidden, shown); words != cie.OnTarget {
			out = append(out, Carried{hidden, words, p, l})
		}
	}
	return out
}

// GeneTest is a mating that tells whether a plant carries a colour hidden.
type GeneTest struct {
	Plant string  `json:"plant"`
	With  string  `json:"with"`    // the other parent; the plant itself: a self
	Kind  string  `json:"kind"`    // "self", "test cross" with a plant that shows the colour, "cross" with one that likely carries it too
	Words string  `json:"differs"` // how the hidden colour differs
	Share float64 `json:"share"`   // of offspring that show it, if the plant carries it
	// Plants is how many offspring show the colour at least once with a chance of 95 %, if the plant carries it.
	Plants int `json:"plants"`
}

// Tests returns the matings that would show what candidates carry, where that is in doubt (a chance of 0.1 to 0.9): for
// each plant and colour the mating that needs the fewest offspring. Matings with the fewest offspring come first.
func (v *Values) Tests(candidates []string, noSelfs bool) []GeneTest {
	var out []GeneTest
	if v.Genes == nil {
		return out
	}
	for _, id := range candidates {
		for _, c := range v.Carries(id) {
			if c.Chance < 0.1 || c.Chance > 0.9 {
				continue
			}
			best := GeneTest{}
			try := func(t GeneTest) {
				t.Plants = classes.ToGrow(t.Share, 0.95, 1, 1)
				if t.Plants > 0 && (best.Plants == 0 || t.Plants < best.Plants) {
					best = t
				}
			}
			if !noSelfs {
				try(GeneTest{Plant: id, With: id, Kind: "self", Words: c.Words, Share: 0.25})
			}
			for _, mate := range candidates {
				at, ok := v.Ped.Place(mate)
				if !ok || mate == id {
					continue
				}
				copies := v.copies(at, c.locus)
				switch share := copies[2]/2 + copies[1]/4; {
				case copies[2] > 0.9:
					try(GeneTest{Plant: id, With: mate, Kind: "test cross", Words: c.Words, Share: share})
				case copies[1]+copies[2] > 0.95:
					try(GeneTest{Plant: id, With: mate, Kind: "cross", Words: c.Words, Share: share})
				}
			}
			if best.Plants > 0 {
				out = append(out, best)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b GeneTest) int { return cmp.Compare(a.Plants, b.Plants) })
	return out
}

// copies returns the chances that the plant at a place has 0, 1 and 2 copies of a locus' second allele.
func (v *Values) copies(at int32, locus int) (c [3]float64) {
	for g, p := range v.Genes.Of(at) {
		c[v.Genes.Copies(g, locus)] += p
	}
	return c
}

// GeneWords returns a sentence about each strong gene that was found.
func (v *Values) GeneWords() []string {
	m := v.Genes
	if m == nil {
		return nil
	}
	var middle space.Vector
	n := 0.0
	for id := range v.measured {
		if at, ok := v.Ped.Place(id); ok {
			for i, x := range v.eval.Value(at) {
				middle[i] += x
			}
			n++
		}
	}
	middle = space.Times(1/max(n, 1), middle)
	first := space.Lab(middle)
	var out []string
	for l := range m.Loci {
		second := space.Lab(space.Plus(middle, m.Effects[2*int(math.Pow(3, float64(l)))]))
		say := fmt.Sprintf("a strong gene was found: plants with two copies of its second form are %s, by Delta E %.0f",
			cie.Direction(second, first), cie.DeltaE2000(second, first))
		if m.Partial[l] {
			say += "; one copy shows too"
		} else {
			say += "; one copy does not show"
		}
		if by := m.HiddenBy[l]; by >= 0 {
			say += fmt.Sprintf("; where the gene named %s has two, this one does not show", [...]string{"first", "second", "third"}[by])
		}
		out = append(out, say)
	}
	return out
}

// hides returns a sentence where the wanted shade mostly shows only among a pair's grandchildren, else "".
func (p *Pair) hides() string {
	q := p.Predicted
	if !(q.NextWithin > 0.02) || q.ChanceWithin > 0.4*q.NextWithin {
		return ""
	}
	return fmt.Sprintf("its offspring hide the wanted shade; cross them with each other, and about %.0f in 100 of their offspring are "+
		"within the tolerance, a season later", 100*q.NextWithin)
}
