package trend

import (
	"fmt"

	"hueward/colorimg/cie"
	"hueward/selection/drift"
	"hueward/selection/space"
)

// OffType is a plant that does not look like its line, as "trend --json" prints it.
type OffType struct {
	Plant     string  `json:"plant"`
	Lab       cie.Lab `json:"lab"`
	DeltaE    float64 `json:"delta_e"`     // from the mean of the line's other plants
	Direction string  `json:"direction"`   // from there, in words
	Distance  float64 `json:"mahalanobis"` // Mahalanobis distance: in units of the line's own spread
	Risk      float64 `json:"risk"`        // the chance that a plant of the line itself is as far out
}

// hold looks for off-types in the last season, and for drift.
func (f *trending) hold() {
	r := f.r
	last := len(f.own) - 1
	if len(f.own[last]) >= drift.LeastPlants {
		r.OffTypes = offTypes(f.own[last])
	} else {
		r.Warnings = append(r.Warnings, fmt.Sprintf("off-types are looked for among %d plants and more: fewer do not show the line's own "+
			"spread", drift.LeastPlants))
	}
	if last < 1 {
		return
	}
	r.EWMA = f.weather.Chart(f.line(), space.Of(r.Target.Lab), r.Target.Measured)
	if r.EWMA == nil {
		r.Warnings = append(r.Warnings, "whether the line drifts from its target cannot be told from weather with two seasons; "+wouldTell)
	}
}

// offTypes returns the plants that lie outside the spread of the others; see [drift.OffTypes].
func offTypes(plants []Grown) []OffType {
	readings := make([]drift.Reading, len(plants))
	for i, p := range plants {
		readings[i] = drift.Reading{Color: space.Of(p.Lab), Cov: p.Cov}
	}
	odd, middle := drift.OffTypes(readings)
	var out []OffType
	for _, o := range odd {
		p := plants[o.At]
		out = append(out, OffType{
			Plant: p.Plant, Lab: p.Lab, Risk: o.Risk, Direction: cie.Direction(p.Lab, space.Lab(middle)),
			DeltaE: cie.DeltaE2000(p.Lab, space.Lab(middle)), Distance: o.Distance,
		})
	}
	return out
}
