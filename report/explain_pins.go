package report

import (
	"image"
	"image/color"
	"math"
)

// pin is the name of a thing outlined in a picture, and where the thing lies, in pixels from the picture's corner.
type pin struct {
	name string
	of   image.Rectangle
}

// extent is the least box around points; empty when one is not a number or there is none.
func extent(ps [][2]float64) image.Rectangle {
	const far = 1e5
	left, right, top, bottom := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for _, p := range ps {
		if !finite(p[0]) || !finite(p[1]) {
			return image.Rectangle{}
		}
		left, right = min(left, p[0]), max(right, p[0])
		top, bottom = min(top, p[1]), max(bottom, p[1])
	}
	if left > right {
		return image.Rectangle{}
	}
	whole := func(v float64) int { return int(math.Round(min(max(v, -far), far))) }
	return image.Rect(whole(left), whole(top), whole(right)+1, whole(bottom)+1)
}

// pins writes names beside what they name, where they hide nothing else.
func (e *explanation) pins(w window, named []pin) {
	h := hand{15, true, sheetPaper}
	var taken []image.Rectangle
	for i, p := range named {
		if p.of.Empty() || !p.of.Overlaps(w.place.Sub(w.place.Min)) {
			continue
		}
		avoid := append([]image.Rectangle{}, taken...)
		for k, q := range named {
			if k != i {
				avoid = append(avoid, q.of)
			}
		}
		label := image.Pt(int(math.Ceil(e.width(h, p.name)))+14, 24)
		at, ok := pinPlace(p.of, label, w.place.Size(), avoid)
		if !ok {
			continue
		}
		taken = append(taken, at)
		at = at.Add(w.place.Min)
		e.box(float64(at.Min.X), float64(at.Min.Y), float64(at.Dx()), float64(at.Dy()), color.NRGBA{0x20, 0x23, 0x1f, 0xd8})
		e.text(h, float64(at.Min.X)+7, float64(at.Min.Y)+17, float64(at.Dx()), p.name)
	}
}

// pinPlace finds a place for a label beside a thing, inside a picture of the given size and clear of what is to be
// avoided: above, below, to the right or the left of it; else over its lower part, where only the thing itself is
// hidden. ok is false when the picture is too small for the label.
func pinPlace(of image.Rectangle, label, size image.Point, avoid []image.Rectangle) (at image.Rectangle, ok bool) {
	const gap, edge = 6, 2
	if label.X > size.X-2*edge || label.Y > size.Y-2*edge {
		return at, false
	}
	room := image.Rect(edge, edge, size.X-edge, size.Y-edge)
	x, y := (of.Min.X+of.Max.X-label.X)/2, (of.Min.Y+of.Max.Y-label.Y)/2
	// Along the thing's side a label may slide to stay in the picture.
	slideX, slideY := min(max(x, room.Min.X), room.Max.X-label.X), min(max(y, room.Min.Y), room.Max.Y-label.Y)
	for _, p := range []image.Point{
		{slideX, of.Min.Y - gap - label.Y},
		{slideX, of.Max.Y + gap},
		{of.Max.X + gap, slideY},
		{of.Min.X - gap - label.X, slideY},
	} {
		at = image.Rectangle{p, p.Add(label)}
		clear := at.In(room)
		for _, a := range avoid {
			clear = clear && !at.Overlaps(a)
		}
		if clear {
			return at, true
		}
	}
	y = min(max(of.Max.Y-gap-label.Y, room.Min.Y), room.Max.Y-label.Y)
	return image.Rectangle{image.Pt(slideX, y), image.Pt(slideX, y).Add(label)}, true
}
