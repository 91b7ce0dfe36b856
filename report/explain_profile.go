package report

import (
	"math"

	"hueward/colorimg"
)

// The profile's parts, from its title's baseline down.
const (
	profileZones  = 12.0
	profileStrip  = 34.0
	profileStripH = 34.0
	profileCurves = 74.0
	profileRow    = 48.0 // of one coordinate
	profileNames  = 40.0 // width of the coordinates' names
)

// profile draws the colours from the bloom's middle to its rim: a strip of
// swatches, the zones above it, and L*, C*, h below.
func (e *explanation) profile(x, y, w float64) {
	end := e.text(handHead, x, y, w, "From the bloom’s middle to its rim")
	rings := e.rings()
	if len(rings) == 0 {
		e.text(handQuiet, x, y+32, w, "No profile was kept with this reading.")
		return
	}
	e.text(handSmall, end+12, y, x+w-end-12, "left to right; each ring’s own colour, then its lightness, chroma and hue")
	left, width := x+profileNames, w-profileNames
	at := func(v float64) float64 { return left + width*min(max(v, 0), 1) }

	e.zones(at, y+profileZones)
	edges := ringEdges(rings)
	sy := y + profileStrip
	e.box(left, sy, width, profileStripH, sheetWash)
	for i, r := range rings {
		x0, x1 := at(edges[i]), at(edges[i+1])
		if c, ok := hexColor(r.Lab.Lab().Hex()); ok {
			e.box(x0, sy, x1-x0, profileStripH, c)
		}
	}
	e.frame(left, sy, width, profileStripH, sheetInk)

	var l, c, h []float64
	for _, r := range rings {
		p := r.Lab.Lab().LCh()
		l, c = append(l, p.L), append(c, p.C)
		if p.C < grayChroma {
			p.H = math.NaN()
		}
		h = append(h, p.H)
	}
	cy := y + profileCurves
	e.curve("L*", rings, l, l, at, x, cy)
	e.curve("C*", rings, c, c, at, x, cy+profileRow)
	e.curve("h°", rings, unwind(h), h, at, x, cy+2*profileRow)
}

// grayChroma is the chroma below which a hue says nothing: a hundredth of the
// range, about what a grey petal's own noise is. A guess.
const grayChroma = 2

// rings are the reading's that can be drawn.
func (e *explanation) rings() []colorimg.Ring {
	var out []colorimg.Ring
	for _, r := range e.r.Radial {
		if finite(r.At) && finite(r.Lab[0]) && finite(r.Lab[1]) && finite(r.Lab[2]) && len(out) < 200 {
			out = append(out, r)
		}
	}
	return out
}

// ringEdges are where the rings meet: halfway between their middles, and 0 and 1 at the ends.
func ringEdges(rings []colorimg.Ring) []float64 {
	edges := make([]float64, len(rings)+1)
	for i := 1; i < len(rings); i++ {
		edges[i] = (rings[i-1].At + rings[i].At) / 2
	}
	edges[len(rings)] = 1
	return edges
}

// zones names the bloom's parts above the strip.
func (e *explanation) zones(at func(float64) float64, y float64) {
	for i, z := range e.r.Zones {
		if i >= 8 || !finite(z.From) || !finite(z.To) || z.To <= z.From {
			continue
		}
		x0, x1 := at(z.From), at(z.To)
		e.box(x0+1, y+1, x1-x0-2, 17, sheetWash)
		e.box(x0+1, y+18, x1-x0-2, 2, sheetAccent)
		text := z.Name + ", " + smallPercent(z.Share) + ": " + labText(z.Lab.Lab())
		if e.width(handSmall, text) > x1-x0-8 {
			text = z.Name
		}
		e.textAt(0.5, handSmall, (x0+x1)/2, y+14, x1-x0-6, text)
	}
}

// curve draws one coordinate over the rings, each value written at its point
// where there is room. drawn are the heights, told the values; NaN is a gap.
func (e *explanation) curve(name string, rings []colorimg.Ring, drawn, told []float64, at func(float64) float64, x, y float64) {
	const band = profileRow - 29 // between the highest and the lowest point
	e.text(hand{15, true, sheetInk}, x, y+profileRow/2+8, profileNames-4, name)
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range drawn {
		if finite(v) {
			low, high = min(low, v), max(high, v)
		}
	}
	e.box(at(0), y+profileRow-1, at(1)-at(0), 1, sheetLine)
	if low > high {
		e.text(handSmall, at(0)+6, y+profileRow/2+8, at(1)-at(0)-12, "too grey to have a hue")
		return
	}
	// A coordinate that hardly changes is drawn nearly level: the whole height is at least 10 units.
	middle, span := (low+high)/2, max(high-low, 10)
	py := func(v float64) float64 { return y + profileRow - 6 - band*((v-middle)/span+0.5) }
	r := pixelBox(at(0)-6, y, at(1)-at(0)+12, profileRow)
	p := newPen(e.in(r))
	ox, oy := float64(r.Min.X), float64(r.Min.Y)
	for i := range drawn {
		if !finite(drawn[i]) {
			continue
		}
		a := [2]float64{at(rings[i].At) - ox, py(drawn[i]) - oy}
		p.round(a, 3)
		if i+1 < len(drawn) && finite(drawn[i+1]) {
			p.loop([][2]float64{a, {at(rings[i+1].At) - ox, py(drawn[i+1]) - oy}}, 1.5)
		}
	}
	p.ink(sheetAccent)
	free := at(0) // where the next number may begin
	for i, v := range told {
		if !finite(v) || !finite(drawn[i]) {
			continue
		}
		text := number(v, 0)
		tw := e.width(handSmall, text)
		tx := min(max(at(rings[i].At)-tw/2, at(0)+2), at(1)-tw-2)
		if tx < free {
			continue
		}
		e.text(handSmall, tx, py(drawn[i])-7, tw+1, text)
		free = tx + tw + 8
	}
}

// unwind turns hue angles into a line without the jump at 360.
func unwind(h []float64) []float64 {
	out := make([]float64, len(h))
	last := math.NaN()
	for i, v := range h {
		if finite(last) && finite(v) {
			v += 360 * math.Round((last-v)/360)
		}
		out[i] = v
		if finite(v) {
			last = v
		}
	}
	return out
}
