package selection

import (
	"hueward/colorimg/cie"
	"hueward/selection/sample"
)

// Advice is what to do with a plant this season.
type Advice string

// The advice: keep a plant as a parent; hold it in reserve until the kept ones are safe; or drop it.
// Growers read "drop" for Pass, see [Advice.Word]: a plant that "passes" sounds approved.
const (
	Keep    Advice = "keep"
	Reserve Advice = "reserve"
	Pass    Advice = "pass"
)

// Word returns the advice as growers read it.
func (a Advice) Word() string {
	if a == Pass {
		return "drop"
	}
	return string(a)
}

// Plant is one measured plant in a [Ranking].
type Plant struct {
	ID   string
	Rank int     // 1 is best: nearest to the target, by value or by its own colour; no two plants share a rank
	Lab  cie.Lab // weighted mean of its photos
	// Cov is the covariance of the error of Lab, for L*, a*, b*: what is left of the photos' scatter after averaging.
	// It does not include the camera's own error, which all photos share: see Trueness.
	Cov        [3][3]float64
	Precision  float64 // Cov as one standard error, Delta E 2000
	Trueness   float64 // standard error against an instrument, the largest of its photos', Delta E 2000
	Photos     int     // readings that gave a colour
	Flagged    int     // of these, with a flag that asks for a second look or without a card
	Refused    int     // readings that gave none
	DeltaE     float64 // CIEDE2000 from Lab to the target
	Low, High  float64 // 95 % interval of the plant's true distance; 0 ≤ Low ≤ DeltaE ≤ High
	Direction  string  // how it differs from the target, in words: [cie.Direction]
	Within     bool    // DeltaE is within the tolerance
	ChanceKept float64 // probability that the plant truly is among the Ranking.Keep nearest; of a held line, that it is within the tolerance
	True       bool    // of a held line: within the tolerance, of the target or, where the whole line has left that, of its middle
	Advice     Advice
	Why        string // reason of the advice, in a grower's words
	// SecondDeltaE is how far the petals' second colour lies from the target's; nil: no second colour.
	SecondDeltaE *float64
	Value        *Value // breeding value; nil: not worked out
	// Bonus is how many Delta E nearer it counts for its other traits.
	Bonus float64
	// Sorts is the number by which the plant has its rank: ValueDeltaE where Ranking.ByValue, else DeltaE; less Bonus.
	Sorts       float64
	Lacks       string  // the must-haves that it fails, in words; empty: none
	ValueDeltaE float64 // from Value to the target, Delta E 2000; where strong genes part its offspring, the mean over their classes
	ValueLow    float64 // 95 % interval of ValueDeltaE
	ValueHigh   float64
	Crosses     []string  // recommended crosses that need it, such as "M-02 × M-07"
	Carries     []Carried // colours that it is likely to carry hidden
	Disagreeing []string  // photos that do not agree with its others and count for less
}

// Unmeasured is a plant without any colour this season.
type Unmeasured struct {
	ID      string `json:"plant"`
	Refused int    `json:"refused"` // photos that were refused
	Why     string `json:"why"`     // "no photo" or why its last photo was refused
}

// LeftOut is a plant with a colour that is no candidate, as it is lost or off-type.
type LeftOut struct {
	ID  string `json:"plant"`
	Why string `json:"why"`
}

// Ranking is the outcome of [Rank].
type Ranking struct {
	Target     Target // with its tolerance filled in
	Keep       int    // how many plants are kept
	Held       bool   // the line is held: see [Options].Hold
	ByValue    bool   // by what the plants pass on; else by their own colours
	Plants     []Plant
	Unmeasured []Unmeasured // in natural order of id
	LeftOut    []LeftOut    // in natural order of id; filled in by the caller that leaves them out
	// Between is the covariance of L*, a*, b* between plants' true colours; Photo is that between photos of one plant,
	// beyond each photo's own error.
	Between, Photo [3][3]float64
	// Repeatability of one photo, for L*, a*, b* and the distance to the target.
	Repeatability [4]sample.Repeat
	// Bonuses are how many Delta E nearer plants count for their weighted traits, by id; plants without a prediction are missing.
	Bonuses  map[string]float64
	Assumed  []string // every number that was assumed, in words; never nil
	Warnings []string // doubts, each with what to do; never nil
}
