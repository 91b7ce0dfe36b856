package selection

import "hueward/selection/space"

// PlanJSON is what "plan --json" prints. Programs rely on it: keys may be added, none
// renamed or removed.
type PlanJSON struct {
	Line     string       `json:"line"`
	Season   string       `json:"season"` // that the plan goes on from
	Target   TargetJSON   `json:"target"`
	Runs     int          `json:"runs"`
	Choices  []CourseJSON `json:"choices"`
	Assumed  []string     `json:"assumed"`
	Warnings []string     `json:"warnings"`
}

// CourseJSON is one choice; its lists have a number for each season ahead.
type CourseJSON struct {
	Grow       int       `json:"grow"`
	Keep       int       `json:"keep"`
	Intensity  float64   `json:"selection_intensity"`
	Reached    []float64 `json:"chance_reached"`
	Distance   []float64 `json:"mean_delta_e"`
	Inbreeding []float64 `json:"inbreeding"`
	Half       *int      `json:"half_by"` // seasons ahead; null: later
}

// JSON returns p in the form that "plan --json" prints.
func (p *Plan) JSON(line, season string) PlanJSON {
	out := PlanJSON{
		Line: line, Season: season, Runs: p.Runs, Choices: []CourseJSON{},
		Target:  TargetJSON{Lab: space.Of(p.Target.Lab), Within: p.Target.Within, Source: p.Target.Source},
		Assumed: append([]string{}, p.Assumed...), Warnings: append([]string{}, p.Warnings...),
	}
	for _, c := range p.Courses {
		j := CourseJSON{Grow: c.Grow, Keep: c.Keep, Intensity: c.Intensity, Reached: c.Reached, Distance: c.Distance, Inbreeding: c.Inbreeding}
		if c.Half > 0 {
			j.Half = &c.Half
		}
		out.Choices = append(out.Choices, j)
	}
	return out
}
