package render

// blob is a rounded body: an ellipse, lit as a dome. All of it hides petals.
type blob struct {
	x, y     float32
	a, b     float32 // half axes, a along cos, sin
	cos, sin float32
	col      rgb
	clear    float32 // share of what lies beneath that shows through
	fuzz     float32 // depth of the noise, share of the colour
	gloss    float32 // strength of the highlight
	flat     bool    // not domed
	off      float32
	pattern  func(u, v float32) (rgb, bool) // of the place, -1 to 1; false: col
}

func (p *blob) paint(c *canvas, y0, y1 int) {
	thin := min(p.a, p.b)
	c.each(y0, y1, around(p.x, p.y, max(p.a, p.b)+2), func(i int, x, y float32) {
		dx, dy := x-p.x, y-p.y
		u, v := (dx*p.cos+dy*p.sin)/p.a, (dy*p.cos-dx*p.sin)/p.b
		q := sqrt(u*u + v*v)
		k := clamp((1-q)*thin + 0.5)
		if k == 0 {
			return
		}
		col := p.col
		if p.pattern != nil {
			if w, ok := p.pattern(u, v); ok {
				col = w
			}
		}
		shade := float32(1)
		if !p.flat {
			lit := (u*p.cos-v*p.sin)*c.light[0] + (u*p.sin+v*p.cos)*c.light[1]
			shade = 1 + 0.34*lit - 0.30*q*q
			g := clamp(1 - 3.2*sqrt((lit-0.5)*(lit-0.5)+(q*q-lit*lit)))
			col = col.mix(rgb{1, 1, 1}, p.gloss*g*g)
		}
		if p.fuzz > 0 {
			col = col.times(1 + p.fuzz*noise(dx*0.8/c.unit+p.off, dy*0.8/c.unit-p.off))
		}
		petal := c.petal[i]
		c.put(i, k*(1-p.clear), col, shade, 0)
		c.petal[i] = petal * (1 - k)
	})
}

// limb is a straight piece of even or tapering width with round ends: a leg or a finger. It throws a shadow beside it.
type limb struct {
	x0, y0, r0, x1, y1, r1 float32
	col, tip               rgb // at the first end and at the last
	crease                 bool
	cast                   float32 // reach of the shadow, in widths
	off                    float32
}

func (l *limb) paint(c *canvas, y0, y1 int) {
	m := max(l.r0, l.r1)*(1+l.cast) + 2
	bx, by := l.x1-l.x0, l.y1-l.y0
	n := 1 / max(bx*bx+by*by, 1e-6)
	c.each(y0, y1, around(l.x0, l.y0, m).Union(around(l.x1, l.y1, m)), func(i int, x, y float32) {
		px, py := x-l.x0, y-l.y0
		t := clamp((px*bx + py*by) * n)
		ex, ey := px-t*bx, py-t*by
		d := sqrt(ex*ex + ey*ey)
		r := l.r0 + (l.r1-l.r0)*t
		side := (ex*c.light[0] + ey*c.light[1]) / r
		if d > r {
			if q := 1 - (d-r)/(l.cast*r+1e-3); q > 0 {
				c.shade[i] *= 1 - 0.45*q*q*clamp(0.6-side)
			}
		}
		k := clamp(r - d + 0.5)
		if k == 0 {
			return
		}
		q := d / r
		shade := 1 + 0.26*side - 0.26*q*q
		if l.crease { // at the joint
			f := abs(t-0.45) * sqrt(1/n) / r
			shade *= 1 - 0.10*clamp(1-4*abs(f-0.15)) + 0.02*noise(px/r*3+l.off, py/r*3)
		}
		c.put(i, k, l.col.mix(l.tip, ease(0.6, 1, t)), shade, 0)
	})
}
