package colorimg

import (
	"image"
	"time"

	"hueward/colorimg/cie"
	"hueward/colorimg/petal"
)

// Method is the version of the way a photo is measured. It is stored with each
// reading, so that a book knows which of its readings were made in the same way.
const Method = 11

// Status says how far a reading may be trusted.
type Status string

// A reading is sound, or should be checked (its flags say why), or is refused.
const (
	OK      Status = "ok"
	Check   Status = "check"
	Refused Status = "refused"
)

// Point is a position in the photo as displayed (after orientation), in full
// size pixels, x to the right and y down; pixel centres are whole numbers.
type Point [2]float64

// Reading is one photo's measured petal colour. Other programs rely on its JSON
// form; see cmd/hueward/reference.md.
type Reading struct {
	File    string    `json:"file"`
	SHA256  string    `json:"sha256"` // of the file's bytes, in hex
	Plant   *string   `json:"plant"`  // nil: not known
	TakenAt *TakenAt  `json:"taken_at"`
	Camera  string    `json:"camera"` // make and model; empty: not written in the photo
	Size    [2]int    `json:"size"`   // width and height as displayed
	Status  Status    `json:"status"`
	Reason  string    `json:"reason"` // why refused or to be checked, and what to do; empty when ok
	Lab     *Triple   `json:"lab"`    // D65, 2 degree observer; nil when refused
	LCh     *Triple   `json:"lch"`    // hue in degrees; nil when refused
	Hex     string    `json:"hex"`    // nearest sRGB colour; empty when refused
	Name    string    `json:"name"`   // plain-language name; empty when refused
	Spread  *Triple   `json:"spread"` // robust standard deviation of the petals' L*, a*, b*
	SE      Errors    `json:"se"`
	SELab   *Triple   `json:"se_lab"` // precision as a standard error of L*, a*, b*
	Colors  []Share   `json:"colours"`
	Petal   PetalArea `json:"petal"`
	Radial  []Ring    `json:"radial"` // from the bloom's middle to its rim; empty when refused
	Zones   []Zone    `json:"zones"`  // parts of the bloom that differ in colour; empty when it has one colour throughout
	Card    CardRead  `json:"card"`
	Tag     TagRead   `json:"tag"`
	Profile string    `json:"profile"`      // colour profile that the photo was read by
	Model   string    `json:"camera_model"` // the phone's colour model that was applied; empty: none
	Flags   []Flag    `json:"flags"`        // never nil
	Method  int       `json:"method"`

	// Correction is what the user marked by hand; nil: nothing.
	Correction *Correction `json:"correction,omitempty"`

	// Mask is 255 where petal, as displayed, full size; nil when refused or not
	// asked for (Options.KeepMask).
	Mask *image.Gray `json:"-"`

	// Reasons says for every working pixel why it counts or not; nil when
	// refused or not asked for (Options.KeepReasons). It is smaller than the
	// photo, with the same proportions.
	Reasons *Reasons `json:"-"`
}

// Triple is the three numbers of a colour, such as L*, a*, b* in this order.
type Triple [3]float64

// Lab returns t as a Lab colour.
func (t Triple) Lab() cie.Lab { return cie.Lab{L: t[0], A: t[1], B: t[2]} }

// Errors are standard errors in Delta E 2000. Precision is the scatter between
// photos of the same flower with the same phone, for comparing plants;
// Trueness is the error of the reading against an instrument.
type Errors struct {
	Precision float64 `json:"precision"`
	Trueness  float64 `json:"trueness"`
}

// Share is one of the colours of a bloom and the share of its petal area.
type Share struct {
	Lab   Triple  `json:"lab"`
	Share float64 `json:"share"`
}

// Ring is the colour of one ring around the bloom's middle.
type Ring struct {
	At    float64 `json:"at"`    // middle of the ring: 0 the bloom's middle, 1 its rim
	Lab   Triple  `json:"lab"`   // robust centre of the petal pixels
	Share float64 `json:"share"` // of the petal area
}

// Zone is a part of the bloom, from one radius to another, with its colour.
type Zone struct {
	Name  string  `json:"zone"` // "centre" (disc florets), "eye", "body", "tip"
	From  float64 `json:"from"` // as in Ring.At
	To    float64 `json:"to"`
	Lab   Triple  `json:"lab"`
	Share float64 `json:"share"` // of the bloom's area, disc included
}

// Reasons holds one [Reason] for each working pixel, row by row, as displayed.
type Reasons struct {
	W, H int
	Pix  []Reason
}

// Reason is what became of a pixel.
type Reason = petal.Fate

// The pixels of the petals that were read, and those of the bloom that were not.
const (
	Read    = petal.Used    // counts
	Clipped = petal.Clipped // too bright to read
	Shadow  = petal.Shadow  // in deep shadow
	Browned = petal.Browned // withered
	Disc    = petal.Disc    // disc florets
	Rim     = petal.Rim     // too near the petals' edge
	Ground  = petal.Ground  // not of the bloom
)

// PetalArea is where the petals were found.
type PetalArea struct {
	Pixels  int       `json:"pixels"`            // of the full-size photo
	Share   float64   `json:"share"`             // of the photo's area
	Bloom   *Point    `json:"bloom"`             // middle of the bloom
	Sure    float64   `json:"sure"`              // expected fit of the outline, intersection over union, 0 to 1
	Outline [][]Point `json:"outline,omitempty"` // closed polygons around the petals, simplified; holes included

	DiameterPixels float64 `json:"diameter_px"` // of the bloom, full size
	DiameterMM     float64 `json:"diameter_mm"` // 0: nothing of known size in the picture
}

// CardRead is how the grey card was found, and the light that it shows.
type CardRead struct {
	Found   bool       `json:"found"`
	Kind    string     `json:"kind"`    // "grey", "strip", "patches"; empty: none found
	Corners *[4]Point  `json:"corners"` // of the grey patch, the strip, or the set of patches
	Gains   [3]float64 `json:"gains"`   // linear red, green, blue; 1, 1, 1 without a card
	CCT     float64    `json:"cct"`     // correlated colour temperature of the light, kelvin; 0 when unknown
	EV      float64    `json:"ev"`      // exposure in stops; 0: the card has its true luminance
}

// TagRead is the plant's tag in the photo.
type TagRead struct {
	Found   bool      `json:"found"`
	Text    string    `json:"text"`    // as printed in the code; empty: none, or not readable
	Corners *[4]Point `json:"corners"` // of the code: top left, top right, bottom right, bottom left as printed
	MM      float64   `json:"mm"`      // printed width of the code, millimetres; 0: not known
	Sheet   string    `json:"sheet"`   // name of the photo sheet that it is printed on; empty: a plant tag
}

// TakenAt is a capture time as the camera wrote it. Most cameras write no time
// zone; the local time is then stored as if it were UTC.
type TakenAt struct{ time.Time }

// Flag is a short, stable code for one doubt about a reading. [Flag.Words]
// explains it to a grower, with what to do.
type Flag string
