package patches

import "hueward/colorimg/cie"

// Set is a set of patches of known colours, laid out in rows and columns.
type Set struct {
	Name    string  // as the file describes it; may be empty
	Rows    int     // of the grid as printed
	Cols    int     // of the grid as printed
	Gap     float64 // space between two patches as a share of a patch's width, and of its height
	Patches []Patch // in the file's order; no two of one name or in one cell

	// FromIDs tells that rows and columns were taken from names such as A1 and B1: the letter for the row. Makers do it
	// either way, so that a picture may show the rows as columns; [Set.Find] and [Set.Orient] then try both.
	FromIDs bool
}

// Patch is one even area of a set.
type Patch struct {
	ID       string
	Row, Col int     // from 0
	Ref      cie.XYZ // known colour under D65, 2 degree observer, Y 1 for white
	Neutral  bool    // a grey, white or black: chroma C*ab below 5
}

// Sample is what a photo shows of one patch.
type Sample struct {
	ID      string
	RGB     [3]float64 // mean linear light of the sRGB primaries, extremes left out
	SE      [3]float64 // standard error of RGB
	Ref     cie.XYZ    // known colour under D65, Y 1 for white
	Neutral bool       // a grey, white or black
	Clipped float64    // share of the patch that is too bright to read
	Pixels  int        // working pixels read
}

// neutralChroma is the chroma below which a patch counts as a grey: printed greys stray up to 3 or so. A guess.
const neutralChroma = 5

// Limits of what is read.
const (
	maxPatches = 2000
	maxFile    = 4 << 20 // bytes
	maxLine    = 8192    // bytes; a line with a spectrum has some 500
	maxSide    = 200     // rows or columns
	maxName    = 1000    // bytes
)
