package patches

import "hueward/colorimg/cie"

// Set is a set of patches of known colours, laid out in rows and columns.
type Set struct {
	Name    string // as the file describes it; may be empty
	Rows    int
	Cols    int
	Patches []Patch // in the file's order; no two in one cell
	Gap     float64 // space between two patches as a share of a patch's width
	Shape   float64 // a patch's height over its width
}

// Patch is one even area of a set.
type Patch struct {
	ID       string
	Row, Col int     // from 0, in the grid as printed
	Ref      cie.XYZ // known colour under D65, 2 degree observer, Y 1 for white
	Neutral  bool    // a grey, or white or black: chroma C*ab below 5
}

// Sample is what a photo shows of one patch.
type Sample struct {
	ID      string
	RGB     [3]float64 // mean linear light of the sRGB primaries, extremes left out
	SE      [3]float64 // standard error of RGB
	Ref     cie.XYZ    // known colour under D65, Y 1 for white
	Neutral bool       // a grey
	Clipped float64    // share of the patch that is too bright to be read
	Pixels  int        // working pixels read
}
