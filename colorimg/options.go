package colorimg

import (
	"hueward/colorimg/camera"
	"hueward/colorimg/patches"
	"hueward/colorimg/photo"
)

// Options says how to measure. The zero value, like nil, is the usual case.
type Options struct {
	Bloom    *Point    // a point on the bloom; nil: the main bloom is found
	Card     *[4]Point // corners of the grey patch; nil: the card is found
	Strokes  []Stroke  // painted over the petals that are found, the last one on top
	NoCard   bool      // measure by the camera's own white balance; the reading is flagged
	CardY    float64   // reflectance of the card, 0 to 1; 0: 0.18
	KeepMask bool      // fill Reading.Mask

	Cameras map[string]*camera.Model // camera models by EXIF make and model; nil: none

	// Strip is the reflectance of white, grey and black of a strip, 0 to 1; zero:
	// card.UsualStrip.
	Strip [3]float64
	// Patches is a set of patches that lies in the photo in place of a grey card;
	// Card is then its four corners. nil: a grey card or a strip.
	Patches *patches.Set

	KeepReasons bool         // fill Reading.Reasons
	Limits      photo.Limits // largest photo accepted; zero value: the usual limits
}

// Job is one photo of a batch.
type Job struct {
	File    string
	Plant   string   // plant that the user named; empty: that of the tag in the photo, or Guess
	Guess   string   // plant that the file's name suggests; empty: none
	Options *Options // used in place of the batch's; nil: the batch's
}
