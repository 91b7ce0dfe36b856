package report

import (
	"image"
	"image/color"
	"math"

	"hueward/colorimg"
)

// reasonLook is how the pixels of a reason are told from others: by name, by
// tint, and by a pattern that also tells them apart without colour.
type reasonLook struct {
	reason colorimg.Reason
	name   string
	tint   color.NRGBA
	inked  func(x, y int) bool // where the pattern's lines are; nil: the pixel as it is
}

// reasonLooks are the reasons in the order of the legend.
var reasonLooks = []reasonLook{
	{colorimg.Read, "counts", color.NRGBA{}, nil},
	{colorimg.Rim, "too near the petals’ edge", color.NRGBA{0x2f, 0x6f, 0x73, 0xff}, func(x, y int) bool { return true }},
	{colorimg.Disc, "disc florets", color.NRGBA{0x8a, 0x78, 0x1c, 0xff}, func(x, y int) bool { return (x+y)%8 < 3 }},
	{colorimg.Clipped, "too bright to read", color.NRGBA{0x2a, 0x6c, 0xb0, 0xff}, func(x, y int) bool { return y%6 < 2 }},
	{colorimg.Shadow, "in deep shadow", color.NRGBA{0x4a, 0x3f, 0x8c, 0xff}, func(x, y int) bool { return x%6 < 2 }},
	{colorimg.Browned, "withered", color.NRGBA{0x7c, 0x4a, 0x22, 0xff}, func(x, y int) bool { return ((x-y)%8+8)%8 < 3 }},
}

// lookOf is how a reason is shown; one that is not known here is a chequer with its number as a name.
func lookOf(v colorimg.Reason) reasonLook {
	for _, l := range reasonLooks {
		if l.reason == v {
			return l
		}
	}
	return reasonLook{v, "reason " + number(float64(v), 0), sheetInk, func(x, y int) bool { return (x/4+y/4)%2 == 0 }}
}

// paint is a pixel of the reason where the photo has c: its greyness tinted,
// strongly on the pattern and weakly beside it.
func (l reasonLook) paint(c color.NRGBA, x, y int) color.NRGBA {
	if l.inked == nil {
		return c
	}
	g := grayOf(c)
	k := 0.28
	if l.inked(x, y) {
		k = 0.85
	}
	return mix(g, l.tint, k)
}

// paleGround is a pixel that is not of the bloom: faint, so that the bloom stands out and one still sees where it is.
func paleGround(c color.NRGBA) color.NRGBA { return mix(grayOf(c), sheetPaper, 0.7) }

// grayOf takes the colour out of what is shown; it is for the eye only.
func grayOf(c color.NRGBA) color.NRGBA {
	g := uint8((299*int(c.R) + 587*int(c.G) + 114*int(c.B) + 500) / 1000)
	return color.NRGBA{g, g, g, 255}
}

func mix(a, b color.NRGBA, k float64) color.NRGBA {
	m := func(p, q uint8) uint8 { return uint8(math.Round(float64(p)*(1-k) + float64(q)*k)) }
	return color.NRGBA{m(a.R, b.R), m(a.G, b.G), m(a.B, b.B), 255}
}

// reasons are the reading's, or nil when there are none or they do not fit their own size.
func (e *explanation) reasons() *colorimg.Reasons {
	q := e.r.Reasons
	if q == nil || q.W <= 0 || q.H <= 0 || len(q.Pix) != q.W*q.H {
		return nil
	}
	return q
}

// mark repaints im, which a window shows, by the reasons.
func (e *explanation) mark(im *image.NRGBA, w window) {
	q := e.reasons()
	b := im.Rect
	xs := make([]int, b.Dx())
	for x := range xs {
		full := w.from[0] + (float64(x)+0.5)/float64(b.Dx())*(w.from[2]-w.from[0])
		xs[x] = min(max(int(full/float64(e.r.Size[0])*float64(q.W)), 0), q.W-1)
	}
	for y := range b.Dy() {
		full := w.from[1] + (float64(y)+0.5)/float64(b.Dy())*(w.from[3]-w.from[1])
		row := q.Pix[min(max(int(full/float64(e.r.Size[1])*float64(q.H)), 0), q.H-1)*q.W:]
		for x, qx := range xs {
			c := im.NRGBAAt(x, y)
			switch v := row[qx]; v {
			case colorimg.Read:
			case colorimg.Ground:
				im.SetNRGBA(x, y, paleGround(c))
			default:
				im.SetNRGBA(x, y, lookOf(v).paint(c, x, y))
			}
		}
	}
}

// legendRow is one reason with its share of the bloom's pixels.
type legendRow struct {
	reasonLook
	share float64
}

// legendRows are the reasons that the bloom has, in the legend's order.
func (e *explanation) legendRows() []legendRow {
	q := e.reasons()
	if q == nil {
		return nil
	}
	var count [256]int
	all := 0
	for _, v := range q.Pix {
		if v != colorimg.Ground {
			count[v]++
			all++
		}
	}
	var rows []legendRow
	for _, l := range reasonLooks {
		if n := count[l.reason]; n > 0 {
			rows = append(rows, legendRow{l, float64(n) / float64(all)})
			count[l.reason] = 0
		}
	}
	for v, n := range count {
		if n > 0 && len(rows) < 8 {
			rows = append(rows, legendRow{lookOf(colorimg.Reason(v)), float64(n) / float64(all)})
		}
	}
	return rows
}

// legend names the reasons of the bloom's picture, and shows the mask beside.
func (e *explanation) legend(x, y float64) {
	const maskW, maskH, rowH = 170.0, 150.0, 24.0
	maskX := x + explainBloomW - maskW
	e.text(handHead, x, y-14, 280, "Of the bloom’s pixels")
	top := y - 4
	rows := e.legendRows()
	if rows == nil {
		e.paragraph(handQuiet, x, top+16, 280, "Why each pixel counts or not was not kept with this reading.")
	}
	for i, row := range rows {
		ry := top + float64(i)*rowH
		r := pixelBox(x, ry, 34, 18)
		for py := r.Min.Y; py < r.Max.Y; py++ {
			for px := r.Min.X; px < r.Max.X; px++ {
				c := color.NRGBA{0xc8, 0xc8, 0xc8, 255}
				if row.inked == nil {
					if own, ok := hexColor(e.r.Hex); ok {
						c = own
					}
				}
				e.Set(px, py, row.paint(c, px, py))
			}
		}
		e.frame(x, ry, 34, 18, sheetInk)
		h := hand{15, row.reason == colorimg.Read, sheetInk}
		e.text(h, x+44, ry+14, 184, row.name)
		e.textAt(1, h, x+284, ry+14, 54, smallPercent(row.share))
	}
	if len(rows) > 0 && len(rows) < 8 {
		ry := top + float64(len(rows))*rowH
		e.box(x, ry, 34, 18, paleGround(color.NRGBA{0x90, 0x90, 0x90, 255}))
		e.frame(x, ry, 34, 18, sheetInk)
		e.text(hand{15, false, sheetSoft}, x+44, ry+14, 240, "not of the bloom")
	}

	e.text(handHead, maskX, y-14, maskW, "The mask")
	win, ok := e.mask(maskX, top, maskW, maskH)
	if !ok {
		return
	}
	p := e.r.Petal
	my := float64(win.place.Max.Y) + 18
	e.text(handSmall, maskX, my, maskW, smallPercent(p.Share)+" of the photo")
	if p.DiameterMM > 0 {
		e.text(handSmall, maskX, my+18, maskW, "bloom "+number(p.DiameterMM, 0)+" mm across")
	} else if p.DiameterPixels > 0 {
		e.text(handSmall, maskX, my+18, maskW, "bloom "+whole(int(math.Round(p.DiameterPixels)))+" pixels across")
	}
}

// smallPercent writes a share so that a little is not nothing.
func smallPercent(v float64) string {
	switch {
	case !finite(v):
		return "–"
	case v > 0 && v < 0.001:
		return "<\u00a00.1\u00a0%"
	case v < 0.0995:
		return number(100*v, 1) + "\u00a0%"
	}
	return percent(v)
}
