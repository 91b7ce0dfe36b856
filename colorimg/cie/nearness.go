package cie

import (
	"math"
	"sync"
)

// Nearness computes [DeltaE2000] to one colour for millions of others: see [NearnessTo].
type Nearness struct {
	to     Lab
	chroma float64
	curves *curves
}

// curves are tables of the parts of the formula that depend on one number alone.
type curves struct {
	gain  curve // of a*, by the mean chroma: 1 + G
	light curve // 1 / SL, by the mean lightness
	hue   curve // T, by the cotangent of the mean hue, which lies above the a* axis
}

// NearnessTo returns a Nearness to the colour c.
func NearnessTo(c Lab) *Nearness {
	return &Nearness{c, math.Sqrt(c.A*c.A + c.B*c.B), theCurves()}
}

// Of fills in away with DeltaE2000 of each of x to the colour, within 0.000 01, several times as fast: by tables, with few
// roots and divisions, and in two passes over many colours, which processors pipeline better than one colour after the other.
// Greys, nearly opposite hues, and the hues from greenish blue to purple, where Rotation counts, are left to DeltaE2000.
func (n *Nearness) Of(away []float64, x []Lab) {
	for ; len(x) > block; x, away = x[block:], away[block:] {
		n.few(away[:block], x[:block])
	}
	n.few(away, x)
}

func (n *Nearness) few(away []float64, x []Lab) {
	var dl, dc, dh, cm, cot [block]float64
	to := &n.to
	for i := range x {
		x := &x[i]
		s := x.A*x.A + x.B*x.B
		mean, light := (math.Sqrt(s)+n.chroma)/2, (x.L+to.L)/2
		if cot[i] = mostCot; !(s > 1e-6 && n.chroma > 1e-3 && mean < mostChroma && light > 1 && light < mostLight) {
			continue
		}
		g := n.curves.gain.at(mean * perChroma)
		a1, a2 := g*to.A, g*x.A
		c1, c2 := math.Sqrt(a1*a1+to.B*to.B), math.Sqrt(a2*a2+x.B*x.B)
		cc := c1 * c2
		dl[i], dc[i], dh[i] = (x.L-to.L)*n.curves.light.at(light*perLight), c2-c1, 2*max(0, cc-a1*a2-to.B*x.B)
		cm[i] = (c1 + c2) / 2
		if a, b := a1*c2+a2*c1, to.B*c2+x.B*c1; b > 0.02*cc { // b is 2 c1 c2 sin hm cos(Δh'/2)
			cot[i] = a / b
		}
	}
	for i := range x {
		if !(math.Abs(cot[i]) < mostCot) {
			away[i] = DeltaE2000(x[i], *to)
			continue
		}
		sc, sh := 1+0.045*cm[i], 1+0.015*cm[i]*n.curves.hue.at((cot[i]+cotBefore)*perCot)
		c, both := dc[i]*sh, sc*sh
		away[i] = math.Sqrt(dl[i]*dl[i] + (c*c+dh[i]*sc*sc)/(both*both))
	}
}

const block = 16

// Ranges of the tables, and their number of points.
const (
	points     = 640
	mostChroma = 158.0
	mostLight  = 158.0
	mostCot    = 9.5 // of hue 6°
	cotBefore  = 9.6
	perChroma  = 4.0
	perLight   = 4.0
	perCot     = 33.0
)

// curve is a function tabulated as a cubic between each two of evenly spaced points.
type curve [points][4]float64

func (c *curve) at(x float64) float64 {
	i := int(x)
	t, p := x-float64(i), &c[i]
	return p[0] + t*(p[1]+t*(p[2]+t*p[3]))
}

// join fills in the cubics from the values at the points, with slopes from the neighbours' values and 0 at the ends.
func (c *curve) join() {
	for i := 2; i < points-2; i++ {
		c[i][1] = (8*(c[i+1][0]-c[i-1][0]) - c[i+2][0] + c[i-2][0]) / 12
	}
	for i := range points - 1 {
		p, q := &c[i], &c[i+1]
		d := q[0] - p[0]
		p[2], p[3] = 3*d-2*p[1]-q[1], p[1]+q[1]-2*d
	}
}

var theCurves = sync.OnceValue(func() *curves {
	c := &curves{}
	for i := range points {
		x := float64(i)
		c.gain[i][0] = 1 + 0.5*(1-math.Sqrt(chroma7(x/perChroma)))
		k := (x/perLight - 50) * (x/perLight - 50)
		c.light[i][0] = 1 / (1 + 0.015*k/math.Sqrt(20+k))
		cot := x/perCot - cotBefore
		sin := 1 / math.Sqrt(1+cot*cot)
		c.hue[i][0] = hueWeight(sin, cot*sin)
	}
	c.gain.join()
	c.light.join()
	c.hue.join()
	return c
})
