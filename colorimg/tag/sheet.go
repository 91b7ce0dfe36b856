package tag

import (
	"math"
	"slices"

	"hueward/colorimg/shape"
)

// Rect is a rectangle on a sheet, in millimetres from its top left corner.
type Rect struct{ X, Y, W, H float64 }

// Corners are top left, top right, bottom right and bottom left.
func (r Rect) Corners() [4][2]float64 {
	return [4][2]float64{{r.X, r.Y}, {r.X + r.W, r.Y}, {r.X + r.W, r.Y + r.H}, {r.X, r.Y + r.H}}
}

// Circle is a circle on a sheet, in millimetres from its top left corner.
type Circle struct{ X, Y, R float64 }

// Sheet is what is where on a printed photo sheet. All lengths are
// millimetres, x to the right and y down from the top left corner of the paper.
//
// The code alone names the sheet and shows its orientation; but a plane fitted to a code of 30 mm is wrong by
// centimetres at the far end of the paper. So round marks in the four corners, found near where the code predicts
// them, give the geometry. The sheet's own white is no reference, as papers contain brighteners that fluoresce blue in
// daylight; only the card is one.
type Sheet struct {
	Name          string // "a5" or "a4", as in [Payload]
	Width, Height float64
	Code          Rect          // the dark squares of the code, its quiet margin not counted
	Card          Rect          // where the grey card is laid
	Bloom         Circle        // where the bloom is laid
	Marks         [4][2]float64 // middles of the round marks: top left, top right, bottom right, bottom left
	MarkR, HoleR  float64       // radii of a mark's black disc and of the white one in its middle
}

// sheets are those that can be printed. A published one is never changed: photos of it have been taken. Cards: a piece
// cut to 60 × 40 mm, and the size of a bank card (ISO/IEC 7810 ID-1, 85.60 × 53.98 mm, from memory).
var sheets = []Sheet{
	{
		Name: "a5", Width: 210, Height: 148,
		Code:  Rect{148, 80, 30, 30},
		Card:  Rect{133, 27, 60, 40},
		Bloom: Circle{76, 77, 48},
		Marks: [4][2]float64{{13, 13}, {197, 13}, {197, 135}, {13, 135}},
		MarkR: 5, HoleR: 2.2,
	},
	{
		Name: "a4", Width: 297, Height: 210,
		Code:  Rect{217, 110, 40, 40},
		Card:  Rect{194, 38, 86, 54},
		Bloom: Circle{106, 108, 70},
		Marks: [4][2]float64{{16, 16}, {281, 16}, {281, 194}, {16, 194}},
		MarkR: 6, HoleR: 2.6,
	},
}

// SheetNamed returns the sheet of that name, "a5" or "a4".
func SheetNamed(name string) (Sheet, bool) {
	if i := slices.Index(SheetNames(), name); i >= 0 {
		return sheets[i], true
	}
	return Sheet{}, false
}

// SheetNames lists the names that [SheetNamed] knows.
func SheetNames() []string {
	var names []string
	for _, s := range sheets {
		names = append(names, s.Name)
	}
	return names
}

// Located is a sheet found in a photo. Positions in the photo are in the pixels that the code's corners were given in.
type Located struct {
	Sheet Sheet
	Marks int // round marks that were found, 0 to 4

	// ErrorMM is how far the corners of the card's box and the rim of the bloom's ring may be from the truth, as one
	// standard deviation of the worst of them, in millimetres; about 0.1 with four marks, many with none.
	ErrorMM float64

	plane shape.Homography // millimetres to pixels
}

// Point returns where a point of the sheet, in millimetres, lies in the photo.
func (l Located) Point(x, y float64) [2]float64 { return l.plane.At([2]float64{x, y}) }

// Card returns the corners in the photo of the box for the card.
func (l Located) Card() (q [4][2]float64) {
	for i, p := range l.Sheet.Card.Corners() {
		q[i] = l.plane.At(p)
	}
	return q
}

// Bloom returns the middle of the bloom's ring in the photo, and its mean
// radius in pixels; seen aslant it is an ellipse.
func (l Located) Bloom() (middle [2]float64, radius float64) {
	b := l.Sheet.Bloom
	return l.Point(b.X, b.Y), b.R * l.PixelsPerMM()
}

// Window returns the part of the photo in which the bloom lies: the box around its ring, f times as large. Up to f =
// 1.15 it contains only bare paper beside the bloom. Petals are looked for only there, as the white sheet itself is larger
// and brighter. The limits are not clipped to the photo.
func (l Located) Window(f float64) (x0, y0, x1, y1 float64) {
	b := l.Sheet.Bloom
	x0, y0 = math.Inf(1), math.Inf(1)
	x1, y1 = -x0, -y0
	for i := range 64 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 64)
		p := l.Point(b.X+f*b.R*cos, b.Y+f*b.R*sin)
		x0, y0, x1, y1 = min(x0, p[0]), min(y0, p[1]), max(x1, p[0]), max(y1, p[1])
	}
	return x0, y0, x1, y1
}

// PixelsPerMM returns the scale of the paper in the middle of the bloom's ring, the mean of all directions. A bloom
// at a height h above the paper, photographed from a height d, looks larger by h/(d-h).
func (l Located) PixelsPerMM() float64 {
	return l.plane.Scale([2]float64{l.Sheet.Bloom.X, l.Sheet.Bloom.Y})
}

// Locate returns where the sheet lies in the photo, from the code's corners alone (top left, top right, bottom right,
// bottom left as printed). It is a first guess; [Sheet.Refine] makes it exact. For corners
// that are no quadrilateral, or one with no room for a code, ok is false.
func (s Sheet) Locate(corners [4][2]float64) (l Located, ok bool) {
	if !roomy(corners) {
		return Located{}, false
	}
	pts := s.codePoints(corners)
	p, ok := fitPlane(pts)
	if !ok {
		return Located{}, false
	}
	return s.located(p, pts, 0), true
}

// roomy reports whether the corners turn one way, each by enough that a plane is told by them: the triangle at each is at least a
// two-thousandth of the square of the longest side. No code could be read that is seen so much aslant.
func roomy(c [4][2]float64) bool {
	least, longest := math.Inf(1), 0.0
	for i := range c {
		a, b, d := c[i], c[(i+1)%4], c[(i+3)%4]
		least = min(least, (b[0]-a[0])*(d[1]-a[1])-(b[1]-a[1])*(d[0]-a[0]))
		longest = max(longest, math.Hypot(b[0]-a[0], b[1]-a[1]))
	}
	return least >= 1e-3*longest*longest && longest > 0
}

func (s Sheet) located(p shape.Homography, pts []match, marks int) Located {
	l := Located{Sheet: s, Marks: marks, plane: p}
	b, card := s.Bloom, s.Card.Corners()
	rim := [][2]float64{{b.X - b.R, b.Y}, {b.X + b.R, b.Y}, {b.X, b.Y - b.R}, {b.X, b.Y + b.R}}
	l.ErrorMM = slices.Max(foretold(p, pts, append(rim, card[:]...)))
	return l
}

// codeError is the standard deviation of a coordinate of the code's corners,
// as a share of its width. A guess: a third of a module of a small code.
const codeError = 0.01

func (s Sheet) codePoints(corners [4][2]float64) []match {
	var pts []match
	for i, c := range s.Code.Corners() {
		pts = append(pts, match{From: c, To: corners[i], SD: codeError * s.Code.W})
	}
	return pts
}
