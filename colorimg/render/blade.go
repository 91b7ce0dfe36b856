package render

import "math"

// blade is a petal or a leaf: long, flat, widest at some share of its length.
// u runs along it from 0 at the base to 1 at the tip, s across it from -1 to 1.
type blade struct {
	x, y     float32 // what it points away from
	cos, sin float32 // its direction
	from     float32 // base, distance from x, y
	long     float32 // base to tip
	half     float32 // half width where widest
	widest   float32 // u where widest
	foot     float32 // width at the base over the largest
	blunt    float32 // 2: the tip is half an ellipse, 3: blunter
	pointed  bool    // the tip comes to a point
	bend     float32 // sideways at the tip, share of the length
	teeth    float32 // depth of the notches at the tip, share of the length
	notches  float32 // how many times 2π across the half width

	rise, droop float32 // slope at the base and how much it changes to the tip, positive: faces outward
	cup         float32 // slope at the edges, positive: edges raised
	deep        float32 // light lost at the base, between its neighbours
	cast        float32 // light it takes from what lies under its edge
	reach       float32 // how far that goes, pixels

	col      rgb
	tip, eye *rgb
	tipFrom  float32 // u from where the tip's colour shows
	eyeTo    float32 // u up to where the base's colour shows
	vein     float32 // depth of the veins, share of the reflectance
	veins    float32 // how many across the half width
	leaf     bool    // midrib and side veins instead of veins along
	petal    float32 // 1: counts as petal of the main bloom
	off      float32 // place in the noise table, different for each
	level    int16   // from the ground up, 1 for the lowest

	brown     *rgb    // of a withered tip; nil: none
	brownFrom float32 // u from where it is brown
	pale      rgb     // what the sun bleaches it to
	fade      float32 // how far, at the tip
}

// tipPoint is where the tip lies.
func (b *blade) tipPoint() (x, y float64) {
	r, d := b.from+b.long, b.bend*b.long
	return float64(b.x + r*b.cos - d*b.sin), float64(b.y + r*b.sin + d*b.cos)
}

// row returns the pixels of row y that the blade and its reach can touch.
func (b *blade) row(c *canvas, y int) (x0, x1 int) {
	dy := float32(y) - b.y
	m := b.reach + 2
	lo, hi := float32(-1e9), float32(1e9)
	cut := func(k, at, from, to float32) { // from ≤ k·dx + at ≤ to
		switch {
		case k > 1e-4:
			lo, hi = max(lo, (from-at)/k), min(hi, (to-at)/k)
		case k < -1e-4:
			lo, hi = max(lo, (to-at)/k), min(hi, (from-at)/k)
		case at < from || at > to:
			hi = lo - 1
		}
	}
	side := b.bend * b.long
	cut(b.cos, dy*b.sin, b.from-m, b.from+b.long*(1+0.02)+m)
	cut(-b.sin, dy*b.cos, min(side, 0)-b.half-m, max(side, 0)+b.half+m)
	if hi < lo {
		return 0, 0
	}
	return int(max(lo+b.x, 0)), int(min(hi+b.x+1, float32(c.w)))
}

// rows returns the rows that the blade and its reach can touch.
func (b *blade) rows() (y0, y1 int) {
	m := b.half + b.reach + 2 + float32(math.Abs(float64(b.bend*b.long)))
	a, z := b.y+b.from*b.sin, b.y+(b.from+b.long)*b.sin
	return int(math.Floor(float64(min(a, z) - m))), int(math.Ceil(float64(max(a, z)+m))) + 1
}

// outline returns u, s, the distance outside the edge in pixels (negative inside) and the outward normal of the edge
// along and across the blade. The distance is right near the edge and fair farther off.
func (b *blade) outline(dx, dy float32) (u, s, d, nu, nv float32) {
	p := dx*b.cos + dy*b.sin - b.from
	v := dy*b.cos - dx*b.sin
	u = p / b.long
	if u > 0 {
		v -= b.bend * b.long * u * u
	}
	if b.teeth > 0 && u > 0.5 {
		u *= 1 + b.teeth*(1-cosine(v/b.half*b.notches))*min(u-0.5, 0.5)
	}
	if u >= b.widest && !b.pointed {
		return b.roundTip(u, v)
	}
	var w, slope float32 // half width and its change along the blade
	if u < b.widest {
		t := max(u, 0) / b.widest
		w = b.half * (b.foot + (1-b.foot)*t*(2-t))
		slope = b.half * (1 - b.foot) * (2 - 2*t) / b.widest / b.long
	} else {
		t := (u - b.widest) / (1 - b.widest)
		if t >= 1 { // beyond the point there is no edge but the point itself
			a := p - b.long
			d = sqrt(a*a+v*v) + 0.01
			return u, 0, d, a / d, v / d
		}
		w = b.half * max(1-t*t*(0.4+0.6*t), 0.001)
		slope = -b.half * t * (0.8 + 1.8*t) / ((1 - b.widest) * b.long)
	}
	g := 1 / sqrt(1+slope*slope)
	d = (abs(v) - w) * g
	if u < 0 { // cut off at the base
		d = max(d, -p)
	}
	nv = g
	if v < 0 {
		nv = -g
	}
	return u, v / w, d, -slope * g, nv
}

// roundTip is outline beyond the widest place: the edge is where f(u, v) = T(u)^blunt + (v/half)² - 1 is 0, and the
// distance is f over the length of its gradient.
func (b *blade) roundTip(u, v float32) (_, s, d, nu, nv float32) {
	t := (u - b.widest) / (1 - b.widest)
	k := 1 / ((1 - b.widest) * b.long)
	f, fu := t*t, 2*t*k
	if b.blunt > 2.5 {
		f, fu = f*t, 1.5*fu*t
	}
	s = v / b.half
	f += s*s - 1
	fv := 2 * s / b.half
	g := 1 / sqrt(fu*fu+fv*fv+1e-9)
	return u, s, f * g, fu * g, fv * g
}

// hide marks the pixels that the blade alone shows of all that lies below it, where none above has marked them.
func (b *blade) hide(c *canvas, y0, y1 int) {
	r0, r1 := b.rows()
	for y := max(y0, r0); y < min(y1, r1); y++ {
		x0, x1 := b.row(c, y)
		dy := float32(y) - b.y
		for x := x0; x < x1; x++ {
			if top := &c.top[y*c.w+x]; *top == 0 {
				if _, _, d, _, _ := b.outline(float32(x)-b.x, dy); clamp(0.5-d) >= 1 {
					*top = b.level
				}
			}
		}
	}
}

func (b *blade) paint(c *canvas, y0, y1 int) {
	r0, r1 := b.rows()
	y0, y1 = max(y0, r0), min(y1, r1)
	lu := c.light[0]*b.cos + c.light[1]*b.sin
	lv := c.light[1]*b.cos - c.light[0]*b.sin
	edge := 1 / (2.2 * c.unit)
	top := max(b.col[0], b.col[1], b.col[2], 1e-3)
	tone := rgb{1.35 - 0.7*b.col[0]/top, 1.35 - 0.7*b.col[1]/top, 1.35 - 0.7*b.col[2]/top}
	for y := y0; y < y1; y++ {
		x0, x1 := b.row(c, y)
		dy := float32(y) - b.y
		for x := x0; x < x1; x++ {
			i := y*c.w + x
			if c.top[i] > b.level {
				continue
			}
			u, s, d, nu, nv := b.outline(float32(x)-b.x, dy)
			if d > b.reach {
				continue
			}
			cover := clamp(0.5 - d)
			if cover < 1 && u > 0 {
				t := 1 - max(d, 0)/b.reach
				away := 1 - 0.75*(nu*lu+nv*lv) // deeper on the side away from the light
				c.shade[i] *= 1 - b.cast*away*t*t
			}
			if cover <= 0 {
				continue
			}
			col, shade := b.surface(u, s, d, lu, lv, edge, tone)
			if c.brown != nil {
				var brown, fade float32
				col, brown, fade = b.aged(col, u, s)
				c.brown[i] += (brown - c.brown[i]) * cover
				c.fade[i] += (fade - c.fade[i]) * cover
			}
			c.put(i, cover, col, shade, b.petal)
		}
	}
}

// surface is the colour and shading of a point of the blade.
func (b *blade) surface(u, s, d, lu, lv, edge float32, tone rgb) (rgb, float32) {
	shade := 1 + (b.rise+b.droop*u)*lu - b.cup*s*lv
	k := 1 - u
	shade *= 1 - b.deep*k*k
	shade += 0.05 * clamp(1+d*edge) // a thin edge catches the light
	var n float32
	if b.leaf {
		a := abs(s)
		rib := 1 / (1 + s*s*b.half*b.half*0.25)
		side := abs(frac(u*7-a*1.3) - 0.5)
		n = rib*2.2*(1-0.6*u) + (0.16-min(side, 0.16))*4*(1-a*0.7)
		n += 0.7 * noise(u*9+b.off, s*3+b.off)
		shade *= 1 - 0.10*(1-min(a*5, 1)) + 0.05*noise(u*4+b.off, s*2)
	} else {
		n = noise(s*b.veins+b.off, u*1.6+b.off)*0.7 + noise(s*b.veins*2.3-b.off, u*3+b.off)*0.5
		a := (abs(s) - 0.36) * 9
		shade *= 1 - 0.035/(1+a*a)*(1-0.5*u) + 0.02*noise(u*3+b.off, s*1.5-b.off)
	}
	col := b.col
	if b.eye != nil {
		col = col.mix(*b.eye, 1-ease(b.eyeTo*0.55, b.eyeTo*1.25, u+0.06*n+0.05*s*s))
	}
	if b.tip != nil {
		col = col.mix(*b.tip, ease(b.tipFrom-0.06, b.tipFrom+0.14, u+0.05*n+0.08*s*s))
	}
	n *= b.vein
	return rgb{col[0] * (1 + n*tone[0]), col[1] * (1 + n*tone[1]), col[2] * (1 + n*tone[2])}, shade
}

func sqrt(v float32) float32 { return float32(math.Sqrt(float64(v))) }

func abs(v float32) float32 { return math.Float32frombits(math.Float32bits(v) &^ (1 << 31)) }

func frac(v float32) float32 { return v - float32(floor(v)) }

// cosine is close to cos(t): a parabola for each half turn, refined once.
func cosine(t float32) float32 {
	t = frac(t/(2*math.Pi)+0.25)*2 - 1 // now -sin(π t)
	p := -4 * t * (1 - abs(t))
	return p * (0.775 + 0.225*abs(p))
}
