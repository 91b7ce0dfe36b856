package report

import (
	"hueward/colorimg/cie"
	"hueward/selection"
	"hueward/selection/trend"
)

// Bred is a plant's breeding value compared with the target.
type Bred struct {
	Lab        cie.Lab
	Hex, Name  string
	DeltaE     float64 // from the target
	Low, High  float64 // 95 % interval of DeltaE; both 0: not known
	Direction  string  // from the target: "darker than the target"
	Inbreeding float64 // 0 to 1
}

// Parent is one parent of a cross.
type Parent struct {
	ID, Hex string
	Lab     cie.Lab // its breeding value
}

// Cross is a cross to make, with the prediction of its offspring.
type Cross struct {
	Seed, Pollen Parent
	Kind         string // "cross", "self", "sib"
	Mean         cie.Lab
	Hex, Name    string
	Cov          [3][3]float64 // covariance of one offspring around Mean, the error of Mean included
	Expected     float64       // Delta E of one offspring to the target
	WithF2       float64       // the same with their own offspring counted, by which crosses with strong genes are sorted; 0: no strong genes
	ChanceWithin float64
	Best         float64 // expected Delta E of the nearest of BestOf
	BestOf       int
	Sow          int // seeds for a chance of 95 % of one within the tolerance; 0: no number would do
	Inbreeding   float64
	Why          string
}

// Self reports whether a cross is a plant with itself.
func (c Cross) Self() bool { return c.Seed.ID == c.Pollen.ID }

// Pairs are the crosses to make together.
type Pairs struct {
	Crosses  []Cross
	Words    []string // what they have in common, a sentence each
	Warnings []string
}

// Ahead are choices for the seasons to come.
type Ahead struct {
	Courses []selection.Course
	Runs    int      // of the simulation
	Words   []string // what else is to be said, a sentence each
}

// Past is a line over its seasons.
type Past struct {
	Seasons  []PastSeason // in order; fewer than two are not drawn
	Words    []string     // what they show, a sentence each
	OffTypes []trend.OffType
}

// PastSeason is one season of a line.
type PastSeason struct {
	Season    string
	Plants    int
	Mean      cie.Lab
	Hex       string
	Cov       [3][3]float64 // of Mean's error
	DeltaE    float64
	Low, High float64
	Direction string // "darker than the target"
	Bred      *Bred  // mean of what its plants pass on; nil: not known
}

// Inheritance is the heritability of one of L*, a*, b*, in words.
type Inheritance struct {
	Of        string // "L*"
	Value, SE float64
	Alone     string // by parents and offspring alone: "0.52 ± 0.2"; empty: too few families
}
