package print

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"hueward/colorimg/tag"
)

// SheetOptions says which photo sheets to print.
type SheetOptions struct {
	Sheet   string       // "a5" or "a4", as in [tag.SheetNamed]; empty: "a5"
	Plants  []SheetPlant // a page for each; none: one blank page, for any plant
	Created time.Time    // written into the PDF; zero: 1 January 2000
}

// SheetPlant is what a plant's sheet says of it.
type SheetPlant struct {
	ID   string // as on its tag; in the code too
	Note string // smaller, beside it: its line and season; may be empty
}

// PhotoSheets writes photo sheets to w as one PDF. Photos of them are read by [tag.Sheet]. An error is one of an
// unknown sheet, of an id that no code can hold, or of w; what was written before it is of no use.
func PhotoSheets(w io.Writer, opt SheetOptions) error {
	name := cmp.Or(opt.Sheet, "a5")
	s, ok := tag.SheetNamed(name)
	if !ok {
		return fmt.Errorf("photo sheet %q: want one of %v", name, tag.SheetNames())
	}
	plants := opt.Plants
	if len(plants) == 0 {
		plants = []SheetPlant{{}}
	}
	title := "Photo sheet " + strings.ToUpper(s.Name)
	p := newPage(s.Width, s.Height, title, opt.Created)
	for _, plant := range plants {
		code, err := tag.Matrix(tag.Payload{Plant: plant.ID, Sheet: s.Name}.String())
		if err != nil {
			return fmt.Errorf("photo sheet of %.40q: %w", plant.ID, err)
		}
		p.pdf.AddPage()
		photoSheet{page: p, Sheet: s, k: s.Height / 148}.draw(plant, code)
	}
	if err := p.pdf.Output(w); err != nil {
		return fmt.Errorf("write photo sheet: %w", err)
	}
	return nil
}

// photoSheet draws one sheet. k is how much larger than on A5 words and lines are.
type photoSheet struct {
	page
	tag.Sheet
	k float64
}

func (s photoSheet) draw(plant SheetPlant, code [][]bool) {
	s.head(plant)
	s.bloom()
	s.card()
	s.code(s.Code.X, s.Code.Y, s.Code.W, code)
	s.marks()
	s.foot()
}

// marks are the round marks in the corners.
func (s photoSheet) marks() {
	for _, m := range s.Marks {
		s.fill(black)
		s.pdf.Circle(m[0], m[1], s.MarkR, "F")
		s.fill(255)
		s.pdf.Circle(m[0], m[1], s.HoleR, "F")
	}
}

// head is the name line between the upper marks.
func (s photoSheet) head(plant SheetPlant) {
	x, end := s.Marks[0][0]+s.MarkR+5*s.k, s.Marks[1][0]-s.MarkR-5*s.k
	y := s.Marks[0][1] + 2.5*s.k
	s.font("", 8*s.k, quiet)
	s.text(x, y, 0, "Plant")
	x += s.pdf.GetStringWidth("Plant") + 3*s.k
	split := s.Bloom.X + s.Bloom.R + 4*s.k
	s.pen(0.2, faint)
	s.line(x, y+1.2*s.k, split-2*s.k, y+1.2*s.k)
	s.name(x+s.k, y, split-x-4*s.k, "B", 17*s.k, black, plant.ID)
	if plant.Note != "" {
		s.name(split, y, end-split, "", 9*s.k, ink, plant.Note)
		return
	}
	s.font("", 8*s.k, quiet)
	s.text(split, y, 0, "Date")
	s.line(split+s.pdf.GetStringWidth("Date")+2*s.k, y+1.2*s.k, end, y+1.2*s.k)
}

// bloom is the ring with its ruled cross, and the cut that lets a bloom stay on its plant.
func (s photoSheet) bloom() {
	b := s.Bloom
	s.pen(0.25, faint)
	s.pdf.Circle(b.X, b.Y, b.R, "D")
	s.pen(0.12, faint)
	for r := 10.0; r < b.R; r += 10 {
		s.pdf.SetDashPattern([]float64{0.4, 1.2}, 0)
		s.pdf.Circle(b.X, b.Y, r, "D")
	}
	s.pdf.SetDashPattern([]float64{}, 0)
	for mm := 1; mm <= int(b.R); mm++ { // one tick a millimetre, right, up and down
		long, d := tick(mm, 0.5, 1, 1.6), float64(mm)
		s.line(b.X+d, b.Y-long, b.X+d, b.Y+long)
		s.line(b.X-long, b.Y-d, b.X+long, b.Y-d)
		s.line(b.X-long, b.Y+d, b.X+long, b.Y+d)
	}
	s.line(b.X, b.Y, b.X+b.R, b.Y)
	s.line(b.X, b.Y-b.R, b.X, b.Y+b.R)
	s.font("", 5.5*s.k, quiet)
	for mm := 10; mm < int(b.R); mm += 10 {
		s.text(b.X+float64(mm), b.Y+1.6+2.2*s.k, 0.5, strconv.Itoa(2*mm))
	}
	s.text(b.X+b.R-1, b.Y-2.4*s.k, 1, "mm across")

	s.pen(0.2, quiet)
	s.pdf.SetDashPattern([]float64{2, 1.4}, 0)
	s.line(4, b.Y, b.X, b.Y)
	s.pdf.SetDashPattern([]float64{}, 0)
	s.pdf.Circle(b.X, b.Y, 2, "D")

	s.font("", 10*s.k, ink)
	s.fill(255) // the circles stop short of the words
	s.pdf.Rect(b.X-0.5*b.R-11*s.k, b.Y-0.36*b.R-4*s.k, 22*s.k, 10.5*s.k, "F")
	s.text(b.X-0.5*b.R, b.Y-0.36*b.R, 0.5, "bloom here,")
	s.text(b.X-0.5*b.R, b.Y-0.36*b.R+4.8*s.k, 0.5, "face up")
	s.font("", 5.5*s.k, quiet)
	s.text(b.X-b.R+3, b.Y+3*s.k, 0, "cut here for a bloom on its stem")
}

// tick is how long the mark of a millimetre is: of each, of each fifth, of each tenth.
func tick(mm int, one, five, ten float64) float64 {
	switch {
	case mm%10 == 0:
		return ten
	case mm%5 == 0:
		return five
	}
	return one
}

// card is the box for the grey card: angles at its corners, outside of it, so that no line lies under the card's edge,
// and inside the cross that [tag.Located.CardMissing] looks for.
func (s photoSheet) card() {
	c := s.Card
	x, y := c.X+c.W/2, c.Y+c.H/2
	s.pen(tag.CrossMM, faint)
	for _, q := range c.Corners() {
		// Short of the corner by half a line, lest the end sticks out.
		s.line(x, y, x+(q[0]-x)*0.98, y+(q[1]-y)*0.98)
	}
	s.fill(255)
	w, h := 0.52*c.W, 5.6*s.k
	s.pdf.Rect(x-w/2, y-h/2, w, h, "F")
	s.font("", 8.5*s.k, ink)
	s.text(x, y+1.1*s.k, 0.5, "lay the grey card here")

	s.pen(0.4, ink)
	const off, arm = 0.9, 6.0
	for i, q := range c.Corners() {
		sx, sy := 1.0, 1.0 // away from the middle
		if i == 0 || i == 3 {
			sx = -1
		}
		if i < 2 {
			sy = -1
		}
		cx, cy := q[0]+sx*off, q[1]+sy*off
		s.line(cx+sx*0.2, cy, cx-sx*arm, cy)
		s.line(cx, cy+sy*0.2, cx, cy-sy*arm)
	}
	s.font("", 6*s.k, quiet)
	s.text(x, c.Y-2.6*s.k, 0.5, fmt.Sprintf("%g × %g mm", c.W, c.H))
}

// foot is the ruler that shows whether the sheet was printed at its true size, and what to do.
func (s photoSheet) foot() {
	right, left := s.Marks[2], s.Marks[3]
	const long = 50.0
	x, y := s.Code.X+s.Code.W/2-long/2, s.Code.Y+s.Code.H+9*s.k
	s.pen(0.25, ink)
	s.line(x, y, x+long, y)
	for mm := 0; mm <= long; mm++ {
		s.line(x+float64(mm), y, x+float64(mm), y-tick(mm, 0.9, 1.4, 2))
	}
	s.font("", 6*s.k, quiet)
	s.text(x+long/2, y+2.9*s.k, 0.5, "50 mm when printed at 100 %")

	s.font("", 7.2*s.k, ink)
	x = left[0] + s.MarkR + 5*s.k
	w := right[0] - s.MarkR - 5*s.k - x
	y = math.Max(s.Bloom.Y+s.Bloom.R+6*s.k, left[1]-0.5*s.k)
	s.lines(x, y, w, 3.6*s.k, 0, "Open shade, all in one light. Photograph from straight above, all four round marks in the picture.\n"+
		"Petals may reach over the ring. On thick matt paper the sheet lies flat.")
}
