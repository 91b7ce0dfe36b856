// Package render draws made-up close photographs of one flower head, seen from above, whose petal colour is known: for
// the demo, and to test the measuring against.
//
// Start with [Draw], or [Scene.JPEG] for the bytes of a photo. Colours are those of surfaces: Lab under D65, 2 degree
// observer. A photo is those surfaces, as linear sRGB, times their shading, times one gain a channel for the light,
// times the exposure, with camera noise, cut to 0..1 and encoded as sRGB; a [Phone] adds contrast and saturation of its
// own. A [Truth] says what came out.
//
// Lengths are in pixels unless a field says otherwise; pixel centres are whole numbers, x to the right and y down. A
// scene and its seed give the same picture every time, on any number of cores.
//
// Package scenes has sets of them to measure by.
//
// Petals have no gloss, and no light shines through or between them: that would change the colour that a perfect
// measurement should report. A shadow lies on what is near and far alike, as if all were flat.
package render

import (
	"cmp"

	"hueward/colorimg/cie"
)

// Form is how a head is built, in the trade's words.
type Form int

// The forms of a head.
const (
	Single     Form = iota // one row of petals around an open disc; cosmos
	SemiDouble             // two to four rows around an open disc; pot marigold
	Double                 // rows to the middle, the disc all but hidden; zinnia, dahlia
	Ball                   // a globe of short cupped petals; ball and pompon dahlia
	Spider                 // many narrow petals; spider chrysanthemum, cactus zinnia
	Cactus                 // pointed petals rolled back along their length; cactus dahlia
	Button                 // a tight globe of very many short petals; button chrysanthemum
)

// Forms are those that [Varied] goes through; AllForms are all of them.
var (
	Forms    = []Form{Single, SemiDouble, Double, Ball, Spider}
	AllForms = []Form{Single, SemiDouble, Double, Ball, Spider, Cactus, Button}
)

func (f Form) String() string {
	return [...]string{"single", "semi-double", "double", "ball", "spider", "cactus", "button"}[f]
}

// Ground is what lies behind the bloom.
type Ground int

// The grounds.
const (
	Board     Ground = iota // a plain pale board
	DarkBoard               // a plain dark board
	GrayBoard               // a plain neutral board, lighter than a grey card
	Wood                    // a board with its grain
	Soil                    // bare soil with crumbs, stones and a few leaves
	Leaves                  // the plant's own foliage over soil
)

// Grounds are all of them.
var Grounds = []Ground{Board, DarkBoard, GrayBoard, Wood, Soil, Leaves}

func (g Ground) String() string {
	return [...]string{"board", "dark board", "grey board", "wood", "soil", "leaves"}[g]
}

// Plain reports whether g is a board, not a garden.
func (g Ground) Plain() bool { return g <= Wood }

// Scene is what is in front of the camera, and the camera. The zero value is
// a buff apricot single bloom on a pale board under D65 with a grey card.
type Scene struct {
	Width, Height int // 0: 1600 × 1200

	Petal    cie.Lab    // of the petals' body; zero: 76, 18, 42, a buff apricot
	Tip, Eye *cie.Lab   // second colour at the petals' tips or base; nil: none
	Center   cie.Lab    // of the disc; zero: 66, 18, 66, golden
	Form     Form       // 0: Single
	Petals   int        // in a row, or for Double, Ball and Button in all; 0: usual for the form
	Diameter float64    // of the bloom, share of the frame's shorter side; 0: 0.5
	At       [2]float64 // middle of the bloom, share of the frame; zero: 0.5, 0.5
	Blooms   int        // further, smaller blooms of the same variety
	NoBloom  bool       // no main bloom; a card without At then lies in the middle

	Browned float64 // share of the petals whose tips have browned, those at the rim first
	Faded   float64 // how far all petals are bleached at their tips, 0 to 1
	Bee     bool    // a bee on the bloom
	Dew     int     // drops of water on the petals, with glints
	Hand    bool    // fingers that hold the stem at the frame's edge

	Ground    Ground   // 0: Board
	GroundLab *cie.Lab // of the board or the soil; nil: usual for the ground
	Card      CardSpec
	Tag       *TagSpec // nil: none

	Kelvin   float64 // colour temperature of the daylight; 0: 6504
	Tint     float64 // further gain of the green channel; 0: 1
	EV       float64 // exposure in stops; at 0 a flat white surface just reaches 1, and bright petals clip in places: see HighestEV
	Gradient float64 // light falls off from the middle by this share to either edge, in a direction of the seed's choice
	Vignette float64 // share of light lost in the corners
	Shadow   float64 // share of light lost in a soft-edged patch of shade; 0: none

	Edge *EdgeShadow // a further shadow with a straight edge; nil: none

	// ShadowAt is the middle of the patch, share of the frame; zero: over the
	// frame's lower right. Its radius is a third of the shorter side.
	ShadowAt [2]float64

	Noise float64 // times the usual shot and read noise; 0: 1, negative: none
	Blur  float64 // of the lens, standard deviation in pixels at 1600 pixels of width; 0: 0.8, negative: none
	Phone *Phone  // what the camera does to the picture before it writes the file; nil: nothing
	Seed  int64   // chooses all that the fields leave open
}

// Border is the edge printed around the grey of a card.
type Border int

// The borders.
const (
	NoBorder Border = iota
	DarkBorder
	LightBorder
)

// CardSpec is the grey card.
type CardSpec struct {
	None   bool        // no card in the photo
	Width  float64     // longer side, share of the frame's width; 0: 0.12
	Aspect float64     // shorter side over longer; 0: 0.7
	Angle  float64     // turned clockwise, degrees
	Tilt   float64     // far edge is shorter than the near one by this share; up to about 0.15
	At     *[2]float64 // middle, share of the frame; nil: a free place beside the bloom
	Border Border      // 0: none
	Y      float64     // reflectance; 0: 0.18

	// Strip makes the card three patches side by side along its longer side: white, grey, black, of the reflectances
	// StripY; zero: 0.90, Y, 0.035. Width and Aspect are then 0.2 and 0.36 when 0.
	Strip  bool
	StripY [3]float64

	// Chart, when not nil, makes the card a grid of coloured patches. Width is
	// then 0.45 when 0, and Aspect such that the patches are square.
	Chart *ChartSpec
}

// with returns s with every default filled in.
func (s Scene) with() Scene {
	if s.Width <= 0 || s.Height <= 0 {
		s.Width, s.Height = 1600, 1200
	}
	s.Petal = cmp.Or(s.Petal, cie.Lab{L: 76, A: 18, B: 42})
	s.Center = cmp.Or(s.Center, cie.Lab{L: 66, A: 18, B: 66})
	s.At = cmp.Or(s.At, [2]float64{0.5, 0.5})
	s.ShadowAt = cmp.Or(s.ShadowAt, [2]float64{0.8, 0.75})
	if s.Form < Single || s.Form > Button {
		s.Form = Single
	}
	if s.Ground < Board || s.Ground > Leaves {
		s.Ground = Board
	}
	s.Diameter = min(max(cmp.Or(s.Diameter, 0.5), 0.02), 3)
	s.Kelvin, s.Tint = cmp.Or(s.Kelvin, 6504), cmp.Or(s.Tint, 1)
	s.Noise, s.Blur = max(cmp.Or(s.Noise, 1), 0), max(cmp.Or(s.Blur, 0.8), 0)
	wide, aspect := 0.12, 0.7
	switch {
	case s.Card.Chart != nil:
		t := s.Card.Chart.with()
		s.Card.Chart = &t
		w, h := t.size()
		wide, aspect = 0.45, h/w
	case s.Card.Strip:
		wide, aspect = 0.2, 0.36
	}
	s.Card.Width, s.Card.Aspect = cmp.Or(s.Card.Width, wide), cmp.Or(s.Card.Aspect, aspect)
	s.Card.Y = cmp.Or(s.Card.Y, 0.18)
	s.Card.StripY = cmp.Or(s.Card.StripY, [3]float64{0.90, s.Card.Y, 0.035})
	return s
}
