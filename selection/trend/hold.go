package trend

import (
	"fmt"

	"hueward/colorimg/cie"
	"hueward/selection/drift"
	"hueward/selection/space"
)

// OffType is a plant that does not look like its line.
type OffType struct {
	Plant     string
	Lab       cie.Lab
	DeltaE    float64 // from the line's middle
	Direction string  // from there, in words
	Distance  float64 // the same in the line's own spread: Mahalanobis distance
	Risk      float64 // the chance of a plant so far out among the line's own
}

// Chart is an EWMA chart of the season means of L*, a*, b*.
type Chart struct {
	Lambda    float64
	Seasons   []string
	Centre    cie.Lab // the target
	Values    []cie.Lab
	Low, High cie.Lab // limits
	Out       bool    // the last value is outside
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
	c := f.weather.Chart(f.line(), space.Of(r.Target.Lab), r.Target.Measured)
	if c == nil {
		r.Warnings = append(r.Warnings, "whether the line drifts from its target cannot be told from weather with two seasons; "+wouldTell)
		return
	}
	r.EWMA = &Chart{Lambda: c.Lambda, Seasons: f.names, Centre: r.Target.Lab, Low: space.Lab(c.Low), High: space.Lab(c.High), Out: c.Out}
	for _, v := range c.Values {
		r.EWMA.Values = append(r.EWMA.Values, space.Lab(v))
	}
}

// offTypes are the plants that lie outside the spread of the others; see [drift.OffTypes].
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
