package selection

import (
	"fmt"
	"math"

	"hueward/colorimg/cie"
	"hueward/selection/space"
)

// DefaultWithin is the tolerance of a target that gives none, in Delta E 2000: side by side, a difference that most
// people see at once and many would still accept as the same variety. Common practice, no source.
const DefaultWithin = 3.0

// Target is the shade that a line is moved toward, or held at.
type Target struct {
	Lab    cie.Lab
	Within float64 // tolerance, Delta E 2000; 0: DefaultWithin
	Source string  // where it came from: "--lab", "--hex", "photo IMG_0412.jpg"; only shown
	// Measured says that the target was itself measured from a photo taken as the plants' are, so that the camera's own
	// error is shared by both and drops out of the distance.
	Measured bool
	Second   *cie.Lab // shade of the petals' second colour; nil: none. It does not rank.
}

// Check returns t with its default filled in, or an error that says what is wrong with it.
func (t Target) Check() (Target, error) {
	for _, v := range space.Of(t.Lab) {
		if !(math.Abs(v) <= space.Farthest) {
			return t, fmt.Errorf("target: L* %v, a* %v, b* %v: give three ordinary numbers", t.Lab.L, t.Lab.A, t.Lab.B)
		}
	}
	if t.Within == 0 {
		t.Within = DefaultWithin
	}
	if !(t.Within > 0) || math.IsInf(t.Within, 0) {
		return t, fmt.Errorf("target: tolerance %v: give a Delta E above 0", t.Within)
	}
	return t, nil
}

// Estimate is a number and its standard error.
type Estimate struct{ Value, SE float64 }
