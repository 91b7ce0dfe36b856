package print

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"hueward/colorimg/tag"
	"hueward/report/words"
)

// PlantTag is what a plant's tag says.
type PlantTag struct {
	ID         string // in the code too, as photos are read
	Line       string
	Generation string // such as F2; may be empty
	Parents    string // such as M-02 × M-07; may be empty
	Season     string
	Place      string // in the bed; may be empty
}

// HeadLabel is what a label on a bag says. The days are written in by hand.
type HeadLabel struct {
	Name    string
	Parents string // such as M-02 × M-07
	Cross   string
	Line    string
	Days    int // of pollination, in a row; 0: 4
	// Open is of a head left to bees and wind: it has no bag and no pollen of yours.
	Open bool
	// OwnPollen asks for a box for the day on which the anthers were taken out.
	OwnPollen bool
}

// Parent is a parent on a packet, with the colour measured of it.
type Parent struct {
	ID, Color string // Color: its name in words; empty: not measured
	Hex       string // nearest sRGB colour, #rrggbb
	Lab       [3]float64
}

// PacketLabel is what a label on a paper packet says.
type PacketLabel struct {
	Name, Line, Season string // Name is the lot's number, too
	Species            string // the crop; may be empty
	Generation         string // of the plants that will come of it
	Of                 string // what the seed is, such as M-02 × M-07, or a bought variety
	Parents            []Parent
	Seeds              string // how many; empty: to be written in
	Date               string // on which the packet was filled
	SowBy              string // may be empty
	Germination        string // "9 of 10 sprouted, 2026-09-11"; empty: to be written in
	Place              string
	Caution            string // may be empty
	Isolation          string // what keeps it the line's own, of seed saved open; else empty
}

// LabelOptions say how labels are printed.
type LabelOptions struct {
	Grid    Grid
	Skip    int       // labels of the first sheet that are used already
	Created time.Time // written into the PDF; zero: 1 January 2000
}

// PlantTags writes tags of plants to w as one PDF.
func PlantTags(w io.Writer, opt LabelOptions, tags []PlantTag) error {
	return labels(w, opt, "Plant tags", leastW, leastH, len(tags), func(l label, i int) error { return l.plant(tags[i]) })
}

// HeadLabels writes labels for bags to w as one PDF.
func HeadLabels(w io.Writer, opt LabelOptions, heads []HeadLabel) error {
	return labels(w, opt, "Head labels", 60, 30, len(heads), func(l label, i int) error { return l.head(heads[i]) })
}

// PacketLabels writes labels for seed packets to w as one PDF.
func PacketLabels(w io.Writer, opt LabelOptions, packets []PacketLabel) error {
	return labels(w, opt, "Seed packets", 63, 33, len(packets), func(l label, i int) error { return l.packet(packets[i]) })
}

// label is one label being drawn: its place on the page.
type label struct {
	page
	x, y, w, h float64
}

// labels draws n labels, so many a page.
func labels(w io.Writer, opt LabelOptions, title string, least, leastHigh float64, n int, draw func(l label, i int) error) error {
	g := opt.Grid
	if err := g.check(); err != nil {
		return err
	}
	if g.LabelW < least || g.LabelH < leastHigh {
		return fmt.Errorf("%s: labels of %g × %g mm are too small; want %g × %g at least", strings.ToLower(title), g.LabelW, g.LabelH, least,
			leastHigh)
	}
	each := g.Columns * g.Rows
	if opt.Skip < 0 || opt.Skip >= each {
		return fmt.Errorf("%d labels are used already, of %d on a sheet", opt.Skip, each)
	}
	p := newPage(g.Width, g.Height, title, opt.Created)
	for i := range n {
		at := opt.Skip + i
		if i == 0 || at%each == 0 {
			p.pdf.AddPage()
			if g.Cut {
				p.cuts(g)
			}
		}
		x, y := g.cell(at)
		if err := draw(label{p, x, y, g.LabelW, g.LabelH}, i); err != nil {
			return err
		}
	}
	if err := p.pdf.Output(w); err != nil {
		return fmt.Errorf("write %s: %w", strings.ToLower(title), err)
	}
	return nil
}

// cuts are the lines between labels on plain paper.
func (p page) cuts(g Grid) {
	p.pen(0.1, faint)
	p.pdf.SetDashPattern([]float64{1, 1.5}, 0)
	for c := range g.Columns + 1 {
		x := g.Left + float64(c)*g.LabelW
		p.line(x, g.Top, x, g.Top+float64(g.Rows)*g.LabelH)
	}
	for r := range g.Rows + 1 {
		y := g.Top + float64(r)*g.LabelH
		p.line(g.Left, y, g.Left+float64(g.Columns)*g.LabelW, y)
	}
	p.pdf.SetDashPattern([]float64{}, 0)
}

// pad is what stays white at a label's edges: printers and cutters are that far off.
func (l label) pad() float64 { return min(3, 0.07*l.h) }

// leastModule is the smallest module that is printed, millimetres: a phone at arm's
// length, or a scan at 150 dots an inch, still tells it. A guess, tested.
const leastModule = 0.4

// qr prints a code as large as side allows with its quiet zone, from (x, y) on. text is made for the width of the dark part.
func (l label) qr(x, y, side float64, text func(mm float64) string) error {
	mm, n := side, 0.0
	for range 2 { // the width decides on the text, and the text on how many modules there are
		rows, err := tag.Matrix(text(mm))
		if err != nil {
			return err
		}
		n = float64(len(rows))
		mm = min(mm, math.Floor(10*side*n/(n+2*tag.Quiet))/10)
	}
	if mm/n < leastModule {
		return fmt.Errorf("%.30q is too long for the code on a label of %g × %g mm; use larger labels", text(mm), l.w, l.h)
	}
	rows, err := tag.Matrix(text(mm))
	if err == nil {
		quiet := (side - mm) / 2
		l.code(x+quiet, y+quiet, mm, rows)
	}
	return err
}

// corner prints the code of a head or a packet in the upper right.
func (l label) corner(side float64, of tag.Label) error {
	return l.qr(l.x+l.w-l.pad()-side, l.y+l.pad()*0.6, side, func(float64) string { return of.String() })
}

// words prints the lines that have any text, small, within the width, from baseline
// y on down to no lower than the label's edge; each is cut to fit.
func (l label) words(x, y, w, points float64, grey int, lines ...string) {
	for _, s := range lines {
		if s != "" && y <= l.y+l.h-l.pad()+0.01 {
			l.name(x, y, w, "", points, grey, s)
			y += points * 0.42
		}
	}
}

// capHeight is how high capitals of the font are, in millimetres a point. Source:
// the Go fonts' cap height, 1470 of 2048 units.
const capHeight = 1470.0 / 2048 * 25.4 / 72

// plant draws a plant's tag: the code, and its id as large as the room allows, to be read standing.
func (l label) plant(t PlantTag) error {
	pad := l.pad()
	side := min(l.h-2*pad, 0.42*l.w)
	code := func(mm float64) string { return tag.Payload{Plant: t.ID, MM: mm}.String() }
	if err := l.qr(l.x+pad, l.y+(l.h-side)/2, side, code); err != nil {
		return err
	}
	x := l.x + pad + side
	w := l.w - side - 2*pad
	high := min(0.42*l.h, 14)
	points := high / capHeight
	small := min(10, max(6, 0.25*l.h))
	below := slices.DeleteFunc([]string{t.Line, strings.Trim(t.Generation+" "+t.Parents, " "), words.Joined(", ", t.Season, t.Place)},
		func(s string) bool { return s == "" })
	tall := high + small*0.6 + small*0.42*float64(len(below)-1)
	y := l.y + max(pad, (l.h-tall)/2) + high
	l.name(x, y, w, "B", points, black, t.ID)
	l.words(x, y+small*0.6, w, small, ink, below...)
	return nil
}

// head draws a bag's label: the head's name, its parents, and boxes for the days.
func (l label) head(h HeadLabel) error {
	pad := l.pad()
	side := min(0.62*l.h, 0.36*l.w, 26)
	if err := l.corner(side, tag.Label{On: tag.OnHead, Name: h.Name}); err != nil {
		return err
	}
	x, w := l.x+pad, l.w-side-2*pad
	high := min(0.19*l.h, 8)
	y := l.y + pad + high
	l.name(x, y, w, "B", high/capHeight, black, h.Name)
	small := min(10, max(6, 0.2*l.h))
	seed, pollen := h.Parents, ""
	if l.fitting(w, "", small, h.Parents) <= leastPoints { // a line each
		seed, pollen, _ = strings.Cut(h.Parents, " × ")
		if pollen != "" {
			pollen = "× " + pollen
		}
	}
	l.words(x, y+small*0.55, w, small, ink, seed, pollen, strings.Trim(h.Cross+"  "+h.Line, " "))

	days := h.Days
	if days < 1 || days > 6 {
		days = 4
	}
	boxes := h.boxes(days)
	top := l.y + max(pad*0.6+side, 0.5*l.h) + 0.5
	room := l.y + l.h - pad - top
	rows := 1
	if room > 19 && l.w < 130 {
		rows = 2
	}
	each := (len(boxes) + rows - 1) / rows
	for r := range rows {
		part := boxes[r*each : min(len(boxes), (r+1)*each)]
		sum := 0.0
		for _, b := range part {
			sum += b.wide
		}
		unit := (l.w - 2*pad) / sum
		bx, bh := l.x+pad, room/float64(rows)-1
		by := top + float64(r)*room/float64(rows)
		for _, b := range part {
			l.pen(0.2, quiet)
			l.pdf.Rect(bx, by, b.wide*unit, bh, "D")
			size := min(6.5, 1.1*bh)
			l.name(bx+0.6, by+size*0.33, b.wide*unit-1.2, "", size, quiet, b.word)
			bx += b.wide * unit
		}
	}
	return nil
}

// box is a field to write in by hand, and how wide it is beside the others.
type box struct {
	word string
	wide float64
}

// boxes are those of a head's label.
func (h HeadLabel) boxes(days int) []box {
	if h.Open {
		return []box{{"in flower", 1.25}, {"harvest", 1.25}, {"seeds", 1}}
	}
	boxes := []box{{"bagged", 1.25}}
	if h.OwnPollen {
		boxes = append(boxes, box{"anthers out", 1.35})
	}
	for d := range days {
		boxes = append(boxes, box{fmt.Sprint("pollen ", d+1), 1})
	}
	return append(boxes, box{"dry", 1}, box{"harvest", 1.25}, box{"seeds", 1})
}

// packet draws a packet's label.
func (l label) packet(k PacketLabel) error {
	pad := l.pad()
	side := min(0.62*l.h, 0.36*l.w, 34)
	if err := l.corner(side, tag.Label{On: tag.OnPacket, Name: k.Name}); err != nil {
		return err
	}
	x, w := l.x+pad, l.w-side-2*pad
	high := min(0.15*l.h, 8)
	small := min(10, max(6, 0.16*l.h))
	step := small * 0.44
	y := l.y + pad + high
	l.name(x, y, w, "B", high/capHeight, black, k.Name)
	y += 0.45*step + step
	l.name(x, y, w, "B", small, black, k.Of)
	y += step
	about := words.Joined(", ", k.Generation, k.Line, k.Species)
	l.name(x, y, w, "", small, ink, about)
	y += step
	l.name(x, y, w, "", small, ink, "lot "+words.Joined(", season ", k.Name, k.Season))
	y += 0.5 * step

	foot := l.y + l.h - pad
	if k.Caution != "" {
		l.name(x, foot, l.w-2*pad, "", min(small-1, 7), quiet, k.Caution)
		foot -= step
	}
	if k.Isolation != "" {
		l.name(x, foot, l.w-2*pad, "", min(small-1, 7), ink, k.Isolation)
		foot -= step
	}
	seeds := cmp.Or(k.Seeds, "….. seeds")
	filled := ""
	if k.Date != "" {
		filled = "filled " + k.Date
		if k.SowBy != "" {
			filled += ", sow by " + k.SowBy
		}
	}
	l.name(x, foot, l.w-2*pad, "", small, ink, cmp.Or(k.Germination, "….. of ….. sprouted, on ……………"))
	foot -= step
	l.name(x, foot, l.w-2*pad, "", small, ink, words.Joined("   ", seeds, filled, k.Place))
	foot -= step

	// The parents' swatches fill what is left, each beside its numbers and words.
	if n := float64(len(k.Parents)); n > 0 {
		rowH := min((foot-y)/n, 2.2*step+1)
		for draws := range 2 { // first how large all can be, then all as large
			for i, p := range k.Parents {
				py := y + float64(i)*rowH
				wide := w
				if py > l.y+pad*0.6+side { // below the code there is more room
					wide = l.w - 2*pad
				}
				small = min(small, l.parent(x, py, wide, rowH, small, p, draws == 1))
			}
		}
	}
	return nil
}

// parent is a parent's swatch, its id, its colour in numbers and words. It returns how large these can be, and draws them if asked to.
func (l label) parent(x, y, w, h, points float64, p Parent, draw bool) float64 {
	high := min(h-0.8, 9)
	if high < 1.5 {
		return points
	}
	wide := min(2*high, 16)
	text := p.ID
	if p.Color != "" {
		text = fmt.Sprintf("%s  %.0f %.0f %.0f  %s", p.ID, p.Lab[0], p.Lab[1], p.Lab[2], p.Color)
	}
	size := l.fitting(w-wide-1.2, "", min(points, high*2.1), text)
	if !draw {
		return size
	}
	style := "D"
	if r, g, b, ok := rgbOf(p.Hex); ok {
		l.pdf.SetFillColor(r, g, b)
		style = "FD"
	}
	l.pen(0.1, faint)
	l.pdf.Rect(x, y, wide, high, style)
	l.name(x+wide+1.2, y+high/2+size*capHeight/2, w-wide-1.2, "", size, ink, text)
	return size
}

// rgbOf reads #rrggbb.
func rgbOf(hex string) (r, g, b int, ok bool) {
	n, err := fmt.Sscanf(hex, "#%02x%02x%02x", &r, &g, &b)
	return r, g, b, err == nil && n == 3
}
