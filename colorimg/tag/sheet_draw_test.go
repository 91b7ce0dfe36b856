package tag

import (
	"fmt"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
)

// paper is a printed sheet as it is seen from above, on a table: how bright
// each place is, 0 to 1. Places are millimetres, as in Sheet.
type paper struct {
	s      Sheet
	code   [][]bool
	noCard bool
	hidden []int // marks under a thumb

	w, h   int
	raster []float32 // of perMM points a millimetre, from -around, -around on
}

const perMM, around = 5, 40

// papers are those that were drawn, by what is on them.
var papers sync.Map

// drawnPaper is the sheet with a bloom and, but for noCard, a card on it.
func drawnPaper(t testing.TB, s Sheet, noCard bool, hidden ...int) *paper {
	t.Helper()
	of := fmt.Sprint(s.Name, noCard, hidden)
	if p, ok := papers.Load(of); ok {
		return p.(*paper)
	}
	code := must.Have(Matrix(Payload{Plant: "M-07", Sheet: s.Name}.String()))(t)
	p := &paper{s: s, code: code, noCard: noCard, hidden: hidden}
	p.w, p.h = int(s.Width+2*around)*perMM, int(s.Height+2*around)*perMM
	p.raster = make([]float32, p.w*p.h)
	for i := range p.raster {
		p.raster[i] = float32(p.draw((float64(i%p.w)+0.5)/perMM-around, (float64(i/p.w)+0.5)/perMM-around))
	}
	papers.Store(of, p)
	return p
}

func (p *paper) at(x, y float64) float64 {
	i, j := int((x+around)*perMM), int((y+around)*perMM)
	return float64(p.raster[max(0, min(p.h-1, j))*p.w+max(0, min(p.w-1, i))])
}

func (p *paper) draw(x, y float64) float64 {
	s := p.s
	for i, m := range s.Marks {
		if math.Abs(x-m[0]) > 2*s.MarkR {
			continue
		}
		d := math.Hypot(x-m[0], y-m[1])
		switch {
		case d < 2*s.MarkR && slices.Contains(p.hidden, i):
			return 0.62
		case d < s.HoleR:
			return 0.9
		case d < s.MarkR:
			return 0.12
		}
	}
	if d := math.Hypot(x-s.Bloom.X, y-s.Bloom.Y); d < 0.82*s.Bloom.R &&
		d < s.Bloom.R*(0.7+0.12*math.Sin(8*math.Atan2(y-s.Bloom.Y, x-s.Bloom.X))) {
		return 0.55 + 0.1*math.Sin(d)
	} else if math.Abs(d-s.Bloom.R) < 0.2 {
		return 0.6
	}
	if u, v := x-s.Card.X, y-s.Card.Y; u >= 0 && v >= 0 && u < s.Card.W && v < s.Card.H {
		if !p.noCard {
			return 0.46
		}
		if s.onCross(x, y, CrossMM/2) {
			return 0.55
		}
	}
	if u, v := x-s.Code.X, y-s.Code.Y; u >= 0 && v >= 0 && u < s.Code.W && v < s.Code.H {
		n := float64(len(p.code))
		if p.code[int(v/s.Code.H*n)][int(u/s.Code.W*n)] {
			return 0.12
		}
	}
	if x >= 0 && y >= 0 && x < s.Width && y < s.Height {
		return 0.9
	}
	return 0.4 + 0.12*math.Sin(x/3+2*math.Sin(y/40)) // a wooden table
}

// onCross reports whether a place lies within half a line's width of the
// diagonals of the card's box.
func (s Sheet) onCross(x, y, half float64) bool {
	c := s.Card
	u, v := x-c.X-c.W/2, y-c.Y-c.H/2
	l := math.Hypot(c.W, c.H)
	return math.Abs(u*c.H-v*c.W)/l < half || math.Abs(u*c.H+v*c.W)/l < half
}

// camera is a pinhole camera above the sheet: the truth that Refine is held to
// is a projection in space, not a fitted plane.
type camera struct {
	w, h   int
	focal  float64 // pixels
	r      cie.Matrix
	away   float64 // millimetres from the middle of the paper
	middle [2]float64
}

// newCamera looks at the middle of the sheet, tilted toward the given
// direction and rolled, from so far that the sheet fills share of the width.
func newCamera(s Sheet, w, h int, tilt, toward, roll, share float64) camera {
	c := camera{w: w, h: h, focal: 0.85 * float64(w), middle: [2]float64{s.Width / 2, s.Height / 2}}
	c.away = c.focal * s.Width / (share * float64(w))
	turn := func(a float64) cie.Matrix {
		return cie.Matrix{{math.Cos(a), -math.Sin(a), 0}, {math.Sin(a), math.Cos(a), 0}, {0, 0, 1}}
	}
	lean := cie.Matrix{{1, 0, 0}, {0, math.Cos(tilt), -math.Sin(tilt)}, {0, math.Sin(tilt), math.Cos(tilt)}}
	c.r = turn(roll).Mul(turn(-toward)).Mul(lean).Mul(turn(toward))
	return c
}

// sees projects a place of the paper.
func (c camera) sees(q [2]float64) [2]float64 {
	x, y, z := c.r.Apply(q[0]-c.middle[0], q[1]-c.middle[1], 0)
	k := c.focal / (z + c.away)
	return [2]float64{float64(c.w-1)/2 + k*x, float64(c.h-1)/2 + k*y}
}

// looksAt returns the place of the paper seen at a pixel: the ray cut with the
// plane.
func (c camera) looksAt() func(px, py float64) (x, y float64) {
	// The paper's point q has r·q + (0, 0, away) = t·d, and no third coordinate.
	inv := c.r.Inverse()
	back := func(x, y, z float64) (b [3]float64) {
		b[0], b[1], b[2] = inv.Apply(x, y, z)
		return b
	}
	origin, right, down := back(0, 0, -c.away), back(1/c.focal, 0, 0), back(0, 1/c.focal, 0)
	first := back(-float64(c.w-1)/2/c.focal, -float64(c.h-1)/2/c.focal, 1)
	return func(px, py float64) (x, y float64) {
		t := -origin[2] / (first[2] + px*right[2] + py*down[2])
		return origin[0] + t*(first[0]+px*right[0]+py*down[0]) + c.middle[0], origin[1] + t*(first[1]+px*right[1]+py*down[1]) +
			c.middle[1]
	}
}

// photograph draws the paper with light that falls off across it and noise.
func (c camera) photograph(p *paper, fall, noise float64, rnd *rand.Rand) *image.Gray {
	im := image.NewGray(image.Rect(0, 0, c.w, c.h))
	look := c.looksAt()
	for y := range c.h {
		for x := range c.w {
			sum := 0.0
			for k := range 4 {
				sum += p.at(look(float64(x)+float64(k%2)/2-0.25, float64(y)+float64(k/2)/2-0.25)) / 4
			}
			sum *= 1 - fall*float64(x+y)/float64(c.w+c.h)
			im.SetGray(x, y, color.Gray{Y: uint8(max(0, min(255, 255*sum+noise*rnd.NormFloat64()+0.5)))})
		}
	}
	return im
}

func lumaOf(im *image.Gray) Luma {
	return PhotoLuma(&photo.Lightness{Pix: im.Pix, DX: 1, DY: im.Stride, W: im.Rect.Dx(), H: im.Rect.Dy()})
}
