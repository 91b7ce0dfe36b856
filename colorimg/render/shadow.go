package render

// softShadow is the shadow that the heads throw on the ground, kept at a
// quarter of the picture's size: it has no fine detail.
type softShadow struct {
	w, h int
	dark []float32 // 0: open, 1: as dark as it gets
}

const shadowStep = 4

func castShadow(p *picture, s Scene, heads []*head) *softShadow {
	m := &softShadow{w: s.Width/shadowStep + 2, h: s.Height/shadowStep + 2}
	small := newCanvas(m.w, m.h)
	for _, h := range heads {
		away := h.r * 0.13
		for _, b := range h.blades {
			if b.from+b.long < h.r*0.6 {
				continue // hidden under those farther out
			}
			q := *b
			q.x = (b.x - p.light[0]*away) / shadowStep
			q.y = (b.y - p.light[1]*away) / shadowStep
			q.from, q.long, q.half, q.reach = b.from/shadowStep, b.long/shadowStep, b.half/shadowStep, 0.5
			q.petal = 1
			q.paint(small, 0, small.h)
		}
	}
	m.dark = small.petal
	if len(heads) == 0 {
		return m
	}
	sigma := float64(heads[0].r) * 0.07 / shadowStep // as the main bloom's
	n := max(int(sigma+0.5), 1)
	tmp := make([]float32, len(m.dark))
	for range 2 {
		boxRows(tmp, m.dark, m.w, m.h, n)
		boxRows(m.dark, tmp, m.h, m.w, n)
	}
	return m
}

// boxRows averages each row of src (w × h) over 2n+1 values and writes it as a
// column of dst, so that two calls blur both ways.
func boxRows(dst, src []float32, w, h, n int) {
	k := 1 / float32(2*n+1)
	for y := range h {
		row := src[y*w : (y+1)*w]
		sum := row[0] * float32(n+1)
		for i := 1; i <= n; i++ {
			sum += row[min(i, w-1)]
		}
		for x := range w {
			dst[x*h+y] = sum * k
			sum += row[min(x+n+1, w-1)] - row[max(x-n, 0)]
		}
	}
}

// darken lays the shadow over what has been painted so far.
func (m *softShadow) darken(c *canvas, y0, y1 int) {
	for y := y0; y < y1; y++ {
		fy := (float32(y)) / shadowStep
		iy := int(fy)
		ty := fy - float32(iy)
		a, b := m.dark[iy*m.w:][:m.w], m.dark[(iy+1)*m.w:][:m.w]
		for x := range c.w {
			fx := float32(x) / shadowStep
			ix := int(fx)
			tx := fx - float32(ix)
			p := a[ix] + (b[ix]-a[ix])*ty
			q := a[ix+1] + (b[ix+1]-a[ix+1])*ty
			c.shade[y*c.w+x] *= 1 - 0.58*(p+(q-p)*tx)
		}
	}
}
