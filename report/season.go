package report

import (
	"cmp"
	"image"
	"time"

	"hueward/colorimg"
	"hueward/colorimg/cie"
	"hueward/selection"
)

// What a plant is advised for. The values are the same as in rank --json; readers are shown [AdviceWord].
const (
	Keep    = "keep"
	Reserve = "reserve"
	Pass    = "pass"
)

// AdviceWord is an advice as people read it.
func AdviceWord(advice string) string { return selection.Advice(advice).Word() }

// The two aims of a line.
const (
	Move = "move" // toward a shade that is not there yet
	Hold = "hold" // a good variety, true to what it is
)

// Season is all that a report shows. Strings are plain text; an empty one, like a nil slice, leaves its place out.
type Season struct {
	Line   string    // "buff apricot"
	Season string    // "2026"
	Aim    string    // Move or Hold; empty: Move
	Made   time.Time // when the report was made

	Target     Target
	Plants     []Plant                // in the order of their rank
	Unmeasured []selection.Unmeasured // plants of the line without a usable reading
	LeftOut    []selection.LeftOut    // plants that have a reading and are no candidates: lost, off-type
	Photos     []Photo                // measured photos; shown in the order of their plants
	Refused    []Refused              // photos that gave no reading

	ByOffspring bool          // plants are ranked by what they pass on
	Pairs       *Pairs        // crosses to make; nil: left out
	Ahead       *Ahead        // the seasons to come; nil: left out
	Past        *Past         // the seasons so far; nil: left out
	Inheritance []Inheritance // of L*, a*, b*; nil: not estimated

	Repeatability *Repeatability // nil: not known
	Trueness      float64        // typical trueness error of one reading, Delta E 2000; 0: not shown
	Sure          string         // how sure the ranking is as a whole, in a sentence
	Assumed       []string       // what was assumed and not measured, a sentence each
	Warnings      []string       // doubts about the whole season, a sentence each

	Version string // of the program, for the last line
}

// Target is the shade aimed at and how near is near enough.
type Target struct {
	Lab    cie.Lab
	Within float64 // tolerance, Delta E 2000; 0: none set
	Name   string  // plain-language name of the shade
	Hex    string  // "#rrggbb"
	Source string  // where the shade comes from: "given as L* a* b*", "measured from buff.jpg"
}

// Plant is one row of the ranking.
type Plant struct {
	ID   string
	Rank int

	Lab  cie.Lab
	SE   *colorimg.Triple // standard errors of L*, a*, b*; nil: not known, no ellipse is drawn
	Hex  string           // "#rrggbb"
	Name string           // plain-language name

	DeltaE    float64 // from the target
	Low, High float64 // interval of DeltaE; both 0: not known
	Direction string  // "darker and pinker than the target"

	Bred *Bred // what it passes on; nil: the plants are not ranked by it
	// Bonus is by how many Delta E its other traits bring it nearer.
	Bonus   float64
	Crosses []string // recommended crosses that need it
	SelfOf  string   // the seed parent that it may be a self of; empty: nothing speaks for it

	Photos     int     // how many readings stand behind the colour
	Advice     string  // Keep, Reserve or Pass
	ChanceKept float64 // that it belongs among the kept, 0 to 1; NaN: not known
	Why        string  // the reason for the advice, in a sentence
	// SecondDeltaE is how far the second colour lies from the target's, Delta E 2000; NaN: no second colour.
	SecondDeltaE float64

	Note     string           // the grower's own words on the plant
	Colors   []colorimg.Share // its colours when it has several; fewer than two are not shown
	Blends   bool             // one of them shades into the other
	Warnings []string         // doubts about this plant, a sentence each
}

// Sorts is the number by which the plant has its place: the distance of what it passes on, where it is ranked by
// that, else its own; less its Bonus.
func (p Plant) Sorts() float64 { return p.Away() - p.Bonus }

// ranked is what the plant is ranked by, before any Bonus: what it passes on, or its own colour.
func (p Plant) ranked() Bred {
	if p.Bred != nil {
		return *p.Bred
	}
	return Bred{DeltaE: p.DeltaE, Low: p.Low, High: p.High}
}

// Away is the distance that the plant is ranked by, before any Bonus; Low and High of it are Nearest and Farthest.
func (p Plant) Away() float64 { return p.ranked().DeltaE }

// Nearest is the lower end of the interval of Away.
func (p Plant) Nearest() float64 { return p.ranked().Low }

// Farthest is the upper end of the interval of Away.
func (p Plant) Farthest() float64 { return p.ranked().High }

// Than is how what it is ranked by differs from the target, in words.
func (p Plant) Than() string { return cmp.Or(p.ranked().Direction, p.Direction) }

// Photo is one measured photo.
type Photo struct {
	Plant   string            // the plant's ID; empty: not known
	Reading *colorimg.Reading // never nil; its File is shown without folders
	Name    string            // file name to show instead of Reading.File's, as the grower knows it
	// Thumb is the photo made small, upright, all of it; [Thumbnail] makes one. Nil: the photo is listed without a
	// picture. Write draws petals and card into a copy of it.
	Thumb image.Image
}

// Refused is a photo that gave no reading.
type Refused struct {
	File   string // shown without folders
	Plant  string // empty: not known
	Reason string // "no grey card found"
	Hint   string // "give --card x,y,w,h or photograph it again"
}

// Repeatability is how much of the differences between photos is differences between plants.
type Repeatability struct {
	Value   float64 // 0 to 1
	Assumed bool    // true: taken as a starting value, the photos being too few
}
