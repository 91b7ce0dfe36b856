package report

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"slices"

	"github.com/disintegration/imaging"

	"hueward/colorimg"
)

// window is a part of the photo shown in a place of the sheet.
type window struct {
	place image.Rectangle // on the sheet
	from  [4]float64      // of the photo, full size: left, top, right, bottom edges
}

// at is where a point of the photo lies, in pixels from the place's corner.
func (w window) at(p colorimg.Point) [2]float64 {
	// Pixel centres of a Point are whole numbers; a pen's are halves.
	return [2]float64{
		(p[0] + 0.5 - w.from[0]) / (w.from[2] - w.from[0]) * float64(w.place.Dx()),
		(p[1] + 0.5 - w.from[1]) / (w.from[3] - w.from[1]) * float64(w.place.Dy()),
	}
}

func (w window) all(ps []colorimg.Point) [][2]float64 {
	out := make([][2]float64, len(ps))
	for i, p := range ps {
		out[i] = w.at(p)
	}
	return out
}

// fit is the largest window of the shape of from inside a rectangle, in its middle.
func fit(from [4]float64, x, y, w, h float64) window {
	k := min(w/(from[2]-from[0]), h/(from[3]-from[1]))
	fw, fh := max(1, math.Round((from[2]-from[0])*k)), max(1, math.Round((from[3]-from[1])*k))
	left, top := math.Round(x+(w-fw)/2), math.Round(y+(h-fh)/2)
	return window{pixelBox(left, top, fw, fh), from}
}

// frameOf is the whole photo; ok is false when its size is not known.
func (e *explanation) frameOf() (from [4]float64, ok bool) {
	return [4]float64{0, 0, float64(e.r.Size[0]), float64(e.r.Size[1])}, e.r.Size[0] > 0 && e.r.Size[1] > 0
}

// whole shows the photo with what was found in it.
func (e *explanation) whole(x, y, w, h float64) {
	end := e.text(handHead, x, y-14, w, "The photo, and what was found in it")
	if e.r.Status != colorimg.Refused {
		e.text(handSmall, end+12, y-14, x+w-end-12, "as taken, before its light was corrected")
	}
	e.box(x, y, w, h, sheetWash)
	from, ok := e.frameOf()
	if !ok || !e.canShow(x, y, w, h) {
		return
	}
	win := fit(from, x, y, w, h)
	draw.Draw(e.RGBA, win.place, e.part(win), image.Point{}, draw.Src)
	r := e.r
	to := e.in(win.place)
	petals := win.petals(e.r)
	outlines(to, petals, 2)
	var named []pin
	corners := func(name string, c *[4]colorimg.Point) {
		if c != nil {
			outlines(to, [][][2]float64{win.all(c[:])}, 2.5)
			named = append(named, pin{name, extent(win.all(c[:]))})
		}
	}
	card := "card"
	if r.Card.Kind == "strip" || r.Card.Kind == "patches" {
		card = r.Card.Kind
	}
	corners(card, r.Card.Corners)
	corners("tag", r.Tag.Corners)
	if b := r.Petal.Bloom; b != nil {
		cross(to, win.at(*b))
	}
	// Names go on last, so that no line crosses them.
	e.pins(win, append(named, pin{"petals", extent(slices.Concat(petals...))}))
}

// canShow reports whether there is a photo, and writes into its place that there is none.
func (e *explanation) canShow(x, y, w, h float64) bool {
	ok := e.photo != nil && !e.photo.Rect.Empty()
	if !ok {
		e.textAt(0.5, handQuiet, x+w/2, y+h/2, w-20, "The photo cannot be shown.")
	}
	return ok
}

// petals are the outlines of a reading's petals.
func (w window) petals(r *colorimg.Reading) (loops [][][2]float64) {
	for _, loop := range r.Petal.Outline {
		loops = append(loops, w.all(loop))
	}
	return loops
}

// part is what a window shows of the photo, at the size of its place.
func (e *explanation) part(w window) *image.NRGBA {
	b := e.photo.Rect
	kx, ky := float64(b.Dx())/float64(e.r.Size[0]), float64(b.Dy())/float64(e.r.Size[1])
	cut := image.Rect(int(math.Floor(w.from[0]*kx)), int(math.Floor(w.from[1]*ky)), int(math.Ceil(w.from[2]*kx)),
		int(math.Ceil(w.from[3]*ky))).Intersect(b)
	if cut.Empty() {
		return image.NewNRGBA(image.Rect(0, 0, w.place.Dx(), w.place.Dy()))
	}
	return imaging.Resize(imaging.Crop(e.photo, cut), w.place.Dx(), w.place.Dy(), imaging.CatmullRom)
}

// outlines draws closed lines that can be seen on any ground.
func outlines(to draw.Image, loops [][][2]float64, width float64) {
	for _, pass := range []struct {
		ink   color.NRGBA
		width float64
	}{{overlayCasing, width + 2.4}, {overlayLine, width}} {
		p := newPen(to)
		for _, l := range loops {
			p.loop(l, pass.width)
		}
		p.ink(pass.ink)
	}
}

// cross marks a bloom's middle.
func cross(to draw.Image, c [2]float64) {
	if !finite(c[0]) || !finite(c[1]) {
		return
	}
	for _, pass := range []struct {
		ink  color.NRGBA
		grow float64
	}{{overlayCasing, 1.2}, {overlayLine, 0}} {
		p := newPen(to)
		long, half := 8+pass.grow, 1+pass.grow
		p.box(c, long, half)
		p.box(c, half, long)
		p.ink(pass.ink)
	}
}

// bloom shows the bloom near by, with every pixel that does not count marked by its reason.
func (e *explanation) bloom(x, y, w, h float64) {
	e.text(handHead, x, y-14, w, "The bloom, and which pixels count")
	e.box(x, y, w, h, sheetWash)
	from, ok := e.bloomPart(w / h)
	if !ok {
		e.textAt(0.5, handQuiet, x+w/2, y+h/2, w-20, "No bloom is known.")
		return
	}
	if !e.canShow(x, y, w, h) {
		return
	}
	win := fit(from, x, y, w, h)
	im := e.part(win)
	if e.reasons() != nil {
		e.mark(im, win)
	} else {
		outlines(im, win.petals(e.r), 2)
	}
	draw.Draw(e.RGBA, win.place, im, image.Point{}, draw.Src)
	e.near = win
}

// bloomPart is the part of the photo around the bloom, of the given width over height where the frame allows it.
func (e *explanation) bloomPart(shape float64) (from [4]float64, ok bool) {
	frame, ok := e.frameOf()
	if !ok {
		return from, false
	}
	from = [4]float64{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	add := func(x0, y0, x1, y1 float64) {
		if finite(x0) && finite(y0) && finite(x1) && finite(y1) {
			from = [4]float64{min(from[0], x0), min(from[1], y0), max(from[2], x1), max(from[3], y1)}
		}
	}
	for _, loop := range e.r.Petal.Outline {
		for _, p := range loop {
			add(p[0], p[1], p[0]+1, p[1]+1)
		}
	}
	if q := e.reasons(); q != nil {
		kx, ky := frame[2]/float64(q.W), frame[3]/float64(q.H)
		for i, v := range q.Pix {
			if v != colorimg.Ground {
				px, py := float64(i%q.W), float64(i/q.W)
				add(px*kx, py*ky, (px+1)*kx, (py+1)*ky)
			}
		}
	}
	from = [4]float64{max(from[0], 0), max(from[1], 0), min(from[2], frame[2]), min(from[3], frame[3])}
	bw, bh := from[2]-from[0], from[3]-from[1]
	if !(bw > 0 && bh > 0) {
		return from, false
	}
	edge := 0.06 * max(bw, bh)
	ww, wh := bw+2*edge, bh+2*edge
	ww, wh = max(ww, wh*shape), max(wh, ww/shape)
	ww, wh = min(ww, frame[2]), min(wh, frame[3])
	cx, cy := (from[0]+from[2])/2, (from[1]+from[3])/2
	left := min(max(cx-ww/2, 0), frame[2]-ww)
	top := min(max(cy-wh/2, 0), frame[3]-wh)
	return [4]float64{left, top, left + ww, top + wh}, true
}

// mask draws the petals alone, as large in the frame as they are in the photo.
func (e *explanation) mask(x, y, w, h float64) (win window, ok bool) {
	from, ok := e.frameOf()
	if !ok {
		return win, false
	}
	win = fit(from, x, y, w, h)
	win.place = win.place.Add(image.Pt(int(x)-win.place.Min.X, int(y)-win.place.Min.Y)) // to the upper left
	pw, ph := float64(win.place.Dx()), float64(win.place.Dy())
	px, py := float64(win.place.Min.X), float64(win.place.Min.Y)
	e.box(px, py, pw, ph, sheetInk)
	// The outline runs the other way around holes, so that they stay open.
	p := newPen(e.in(win.place))
	for _, loop := range win.petals(e.r) {
		if len(loop) > 2 {
			p.polygon(loop)
		}
	}
	p.ink(overlayLine)
	if e.near.place.Dx() > 0 { // what the larger picture shows
		a := [2]float64{(e.near.from[0] - from[0]) / from[2] * pw, (e.near.from[1] - from[1]) / from[3] * ph}
		b := [2]float64{e.near.from[2] / from[2] * pw, e.near.from[3] / from[3] * ph}
		e.frame(px+a[0], py+a[1], b[0]-a[0], b[1]-a[1], color.NRGBA{0xda, 0xd7, 0xcc, 0xa0})
	}
	return win, true
}
