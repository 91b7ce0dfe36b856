package selection

import (
	"fmt"
	"math"

	"hueward/colorimg/cie"
	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Observation is one photo's (or one instrument's) reading of one plant, reduced to plain numbers.
type Observation struct {
	Plant string  // the plant's id; not empty
	Photo string  // file name, to name the photo in warnings; may be empty
	Lab   cie.Lab // ignored when Refused
	// SE is the within-photo standard error of L*, a*, b*; zero: not known,
	// then only the scatter between photos counts.
	SE        [3]float64
	Precision float64 // standard error when plants are compared, Delta E 2000; only shown
	Trueness  float64 // standard error against an instrument, Delta E 2000; not averaged away by more photos
	Check     bool    // carries a flag that asks for a second look
	NoCard    bool    // measured without a grey card
	Refused   bool    // gave no colour; kept so that the plant is listed as unmeasured
	Reason    string  // why it was refused
}

// Options says how to rank. The zero value, like nil, is the usual case.
type Options struct {
	// Keep is how many plants to keep as parents. 0: a quarter of those measured, at least 2 (when there are 2), for
	// a line kept from one plant is a selfed line.
	Keep int
	// Hold is for a line that is held true: all true plants are kept (at most Keep where that is given), and
	// ranked by their own colours, since an off-type is recognised by what it looks like.
	Hold  bool
	Draws int    // Monte Carlo draws of the chance of belonging, rounded up to a power of two, fewer of many plants; 0: 2000
	Seed  uint64 // of those draws; the same seed gives the same answer
	// Traits are must-haves and weighted traits beside colour. The weighted ones are predicted
	// with Pedigree, which holds the scored plants.
	Traits   []Trait
	Pedigree []genetics.Parents
	Values   *Values  // breeding values, which plants are ranked by where a parent of one is known; nil: own colours
	Plants   []string // further plants of the line, listed as unmeasured when no observation names them
}

// check returns an error for the first thing in o that cannot be ranked.
func (o Observation) check() error {
	what := fmt.Sprintf("plant %q", o.Plant)
	if o.Photo != "" {
		what = fmt.Sprintf("photo %q of plant %q", o.Photo, o.Plant)
	}
	if o.Plant == "" {
		return fmt.Errorf("photo %q: no plant is named; say which plant it shows", o.Photo)
	}
	if o.Refused {
		return nil
	}
	for i, v := range space.Of(o.Lab) {
		if !(math.Abs(v) <= space.Farthest) {
			return fmt.Errorf("%s: %s is %v, not a colour; measure it again or leave it out", what, space.Axes[i], v)
		}
	}
	for i, v := range o.SE {
		if !(v >= 0 && v <= space.Farthest) {
			return fmt.Errorf("%s: standard error of %s is %v, want 0 to %v", what, space.Axes[i], v, MaxError)
		}
	}
	for _, v := range [2]float64{o.Precision, o.Trueness} {
		if !(v >= 0 && v <= space.Farthest) {
			return fmt.Errorf("%s: standard error %v Delta E, want 0 to %v", what, v, MaxError)
		}
	}
	return nil
}

// MaxError is the largest standard error of a colour, in Delta E or in L*, a* or b*, that
// is accepted: the book keeps none beyond it, so that all it keeps can be ranked.
const MaxError = space.Farthest
