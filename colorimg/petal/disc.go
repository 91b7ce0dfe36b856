package petal

// disc is the part of the head that holds the disc florets, or nil when the
// middle has the petals' colours. It looks for a different colour that fills
// the head's middle and is rare near its rim.
func (s *scene) disc(h *head) []bool {
	k := len(s.palette)
	inner, outer := make([]float64, k), make([]float64, k)
	cx, cy := h.x, h.y
	x0, y0, x1, y1 := s.window(h.x, h.y, 1.6*h.r)
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			i := y*s.w + x
			if !h.mask[i] {
				continue
			}
			switch d := distance(float64(x)-cx, float64(y)-cy) / h.r; {
			case d < 0.17:
				inner[s.label[i]]++
			case d > 0.5:
				outer[s.label[i]]++
			}
		}
	}
	ni := total(inner)
	if ni < 4 || total(outer) < 20 {
		return nil
	}
	logit := s.odds(inner, outer, 0.004)
	// The middle must be mostly of colours that the rim has not.
	own := 0.0
	for j, n := range inner {
		if logit[j] > 1 {
			own += n / ni
		}
	}
	if own < 0.5 {
		return nil
	}
	core := &head{x: cx, y: cy, r: 0.28 * h.r}
	mask := make([]bool, s.w*s.h)
	x0, y0, x1, y1 = s.window(cx, cy, 0.62*h.r)
	d := newDrawing()
	defer d.done()
	d.field(s, logit, x0, y0, x1, y1, core)
	d.leave(func(x, y int) bool {
		return !h.mask[y*s.w+x] || distance(float64(x)-cx, float64(y)-cy) > 0.62*h.r
	})
	if !d.connect(mask, logit, cx, cy, core.r) {
		return nil
	}
	core.measure(mask, s.w, s.h, x0, y0, x1, y1)
	if core.area < 6 || core.r > 0.58*h.r {
		return nil
	}
	core.mask = mask
	s.rate(core)
	// Disc florets end sharply and are roundish; the deep middle of a double
	// goes over into its petals.
	if overlap, solid := core.parts[2], core.parts[3]; overlap > 0.3 || solid < 0.8 {
		return nil
	}
	return grown(mask, s.w, s.h)
}

// grown is the mask with a margin of one pixel.
func grown(m []bool, w, h int) []bool {
	out := make([]bool, len(m))
	for y := range h {
		for x := range w {
			if !m[y*w+x] {
				continue
			}
			for dy := max(0, y-1); dy <= min(h-1, y+1); dy++ {
				for dx := max(0, x-1); dx <= min(w-1, x+1); dx++ {
					out[dy*w+dx] = true
				}
			}
		}
	}
	return out
}
