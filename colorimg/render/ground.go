package render

import (
	"math/rand/v2"

	"hueward/colorimg/cie"
)

// ground fills the canvas before anything is painted.
type ground struct {
	kind Ground
	col  rgb
	off  [4]float32 // places in the noise table
	turn [2]float32 // cosine and sine of the grain's direction
}

// usualGround is the colour of each ground when the scene gives none.
var usualGround = map[Ground]cie.Lab{
	Board:     {L: 82, A: 0.5, B: 5},
	DarkBoard: {L: 24, A: 0.5, B: -2},
	GrayBoard: {L: 68, A: 0, B: 0.5},
	Wood:      {L: 62, A: 12, B: 28},
	Soil:      {L: 33, A: 7, B: 13},
	Leaves:    {L: 27, A: 6, B: 11},
}

// Usual is the colour of the ground when the scene gives none.
func (g Ground) Usual() cie.Lab { return usualGround[g] }

func newGround(s Scene, r *rand.Rand) *ground {
	lab := usualGround[s.Ground]
	if s.GroundLab != nil {
		lab = *s.GroundLab
	}
	g := &ground{kind: s.Ground, col: linear(lab), turn: [2]float32{1, 0}}
	for i := range g.off {
		g.off[i] = float32(r.Float64() * tableSize)
	}
	t := float32(r.NormFloat64() * 0.1)
	g.turn = [2]float32{1 - t*t/2, t}
	return g
}

func (g *ground) paint(c *canvas, y0, y1 int) {
	k := 1 / c.unit
	for y := y0; y < y1; y++ {
		board := g.board(float32(y) * k)
		for x := range c.w {
			i := y*c.w + x
			if c.top[i] > 0 {
				continue
			}
			px, py := float32(x)*k, float32(y)*k
			var col rgb
			var shade float32
			switch {
			case !g.kind.Plain():
				col, shade = g.soil(px, py, c.light)
			case g.kind == Wood:
				col, shade = g.wood(px, py)
			default:
				col, shade = board.at(px), 1
			}
			c.refl[i], c.shade[i], c.petal[i] = col, shade, 0
		}
	}
}

// boardRow is a row of card or painted ply: fibres, and the faint clouds of a hand-painted sheet.
type boardRow struct {
	*ground
	clouds, fine, fibres noiseRow
}

func (g *ground) board(y float32) boardRow {
	return boardRow{g, newNoiseRow(y/170 + g.off[1]), newNoiseRow(y / 2.3), newNoiseRow(y/1.7 + g.off[3])}
}

func (r *boardRow) at(x float32) rgb {
	n := 0.016*r.clouds.at(x/190+r.off[0]) + 0.016*r.fine.at(x/3.1+r.off[2]) + 0.012*r.fibres.at(x/9+r.off[1])
	return r.col.times(1 + n)
}

func (g *ground) wood(x, y float32) (rgb, float32) {
	x, y = x*g.turn[0]-y*g.turn[1], x*g.turn[1]+y*g.turn[0]
	warp := 14 * noise(x/420+g.off[0], y/160)
	ring := noise(x/900+g.off[1], (y+warp)/17+g.off[2])
	pore := noise(x/60+g.off[3], (y+warp*0.5)/2.2)
	broad := noise(x/700+g.off[2], y/90+g.off[0])
	n := 0.17*ring + 0.06*pore + 0.10*broad
	if n > 0 {
		n *= 0.6 // pale early wood, thin dark late wood
	}
	return rgb{g.col[0] * (1 + n*0.8), g.col[1] * (1 + n), g.col[2] * (1 + n*1.15)}, 1
}

// soil is lit as a rough surface: the difference of its height over a short way toward the light.
func (g *ground) soil(x, y float32, light [2]float32) (rgb, float32) {
	a, b := g.off[0], g.off[1]
	height := func(x, y float32) float32 {
		// Each scale is turned, so that the table's rows do not show.
		u, v := x*0.8-y*0.6, x*0.6+y*0.8
		p, q := x*0.28+y*0.96, y*0.28-x*0.96
		return 1.3*noise(u/37+a, v/37+b) + 1.1*noise(p/12.5+b, q/12.5+a) + 0.7*noise(x/5.2+a, y/5.2-b)
	}
	h := height(x, y)
	slope := h - height(x+light[0]*3.2, y+light[1]*3.2)
	fine := noise(x/1.9+b, y/1.9+a)
	wet := noise(x/260+a, y/230+b)
	shade := 0.78 + 0.17*h + 0.34*slope + 0.17*fine
	shade = max(shade, 0.16)
	k := 1 - 0.22*wet
	warm := 1 + 0.03*h
	return rgb{g.col[0] * k * warm, g.col[1] * k, g.col[2] * k / warm}, shade
}

// stone is a pebble or a crumb of soil.
type stone struct {
	x, y, r, flat float32
	cos, sin      float32
	col           rgb
	off           float32
}

func newStone(r *rand.Rand, w, h int, unit float64, base rgb) *stone {
	size := (3 + 9*r.Float64()*r.Float64()) * unit
	if r.IntN(12) == 0 {
		size *= 2.2
	}
	k := float32(0.8 + 0.9*r.Float64())
	col := base.times(k)
	if r.IntN(4) == 0 { // a pale pebble among crumbs
		col = col.mix(rgb{0.30, 0.27, 0.23}, 0.6)
	}
	a := r.Float64() * 6.3
	return &stone{x: float32(r.Float64()) * float32(w), y: float32(r.Float64()) * float32(h), r: float32(size),
		flat: float32(0.65 + 0.3*r.Float64()), cos: cosine(float32(a)), sin: cosine(float32(a - 1.5708)), col: col,
		off: float32(r.Float64() * 200)}
}

func (p *stone) paint(c *canvas, y0, y1 int) {
	c.each(y0, y1, around(p.x, p.y, p.r*1.6+1), func(i int, x, y float32) {
		if c.top[i] > 0 {
			return
		}
		dx, dy := x-p.x, y-p.y
		u, v := dx*p.cos+dy*p.sin, (dy*p.cos-dx*p.sin)/p.flat
		q := sqrt(u*u+v*v) / p.r
		q += 0.16 * noise(p.off+u/p.r*1.4, p.off+v/p.r*1.4)
		lit := (dx*c.light[0] + dy*c.light[1]) / p.r
		if q > 1 && q < 1.6 && lit < 0 {
			c.shade[i] *= 1 + 0.75*lit*(1.6-q)
		}
		if k := clamp((1-q)*p.r + 0.5); k > 0 {
			c.put(i, k, p.col, 0.86+0.30*lit-0.16*q*q+0.10*noise(p.off+dx/3, dy/3), 0)
		}
	})
}
