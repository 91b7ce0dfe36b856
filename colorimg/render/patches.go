package render

import (
	"cmp"

	"hueward/colorimg/cie"
)

// ChartSpec makes the card a grid of patches of known colours on a frame: dark unless the card's border is LightBorder.
type ChartSpec struct {
	Rows, Cols int       // 0: 4 × 6
	Patches    []cie.Lab // row by row; nil: [ChartColors]; those that are missing show the frame
	Gap        float64   // between two patches, share of a patch's side; 0: 0.12, negative: none
	Turned     bool      // the first patch lies at the lower right instead of the upper left
}

// ChartColors returns the 24 colours of the usual chart, for 4 rows of 6: six hues pale, vivid and deep, all within
// sRGB, and six greys from white to black (L* 95 to 20). They are nobody's chart.
func ChartColors() []cie.Lab {
	var out []cie.Lab
	for _, tone := range [3][2]float64{{76, 26}, {58, 44}, {36, 30}} {
		for hue := range 6 {
			out = append(out, Fit(cie.LCh{L: tone[0], C: tone[1], H: 25 + 60*float64(hue)}.Lab()))
		}
	}
	for _, l := range [6]float64{95, 81, 66, 51, 36, 20} {
		out = append(out, cie.Lab{L: l})
	}
	return out
}

func (t ChartSpec) with() ChartSpec {
	if t.Rows <= 0 || t.Cols <= 0 {
		t.Rows, t.Cols = 4, 6
	}
	t.Rows, t.Cols = min(t.Rows, 50), min(t.Cols, 50)
	if t.Patches == nil {
		t.Patches = ChartColors()
	}
	t.Gap = min(max(cmp.Or(t.Gap, 0.12), 0), 2)
	return t
}

// frame is the width of the chart's frame, in patches.
const frame = 0.35

// size is the chart's width and height in patches, frame included.
func (t ChartSpec) size() (w, h float64) {
	c, r := float64(t.Cols), float64(t.Rows)
	return c + (c-1)*t.Gap + 2*frame, r + (r-1)*t.Gap + 2*frame
}

// patch is an even area on a card.
type patch struct {
	quad quad
	col  rgb
}

// cells lays the chart's patches on a card, in the order of its colours.
func (t ChartSpec) cells(edge quad) (out []patch, corners quad) {
	w, h := t.size()
	on := edge.plane()
	corners = part(on, frame/w, frame/h, 1-frame/w, 1-frame/h)
	if t.Turned {
		corners = quad{corners[2], corners[3], corners[0], corners[1]}
	}
	for i, lab := range t.Patches[:min(len(t.Patches), t.Rows*t.Cols)] {
		u := frame + float64(i%t.Cols)*(1+t.Gap)
		v := frame + float64(i/t.Cols)*(1+t.Gap)
		q := part(on, u/w, v/h, (u+1)/w, (v+1)/h)
		if t.Turned {
			q = part(on, 1-u/w, 1-v/h, 1-(u+1)/w, 1-(v+1)/h)
		}
		out = append(out, patch{q, linear(lab)})
	}
	return out, corners
}

// strip is the three patches of a white-grey-black card, side by side.
func strip(grey quad, y [3]float64) (out []patch) {
	on := grey.plane()
	for i, v := range y {
		g := float32(v)
		out = append(out, patch{part(on, float64(i)/3, 0, float64(i+1)/3, 1), rgb{g, g, g}})
	}
	return out
}

// paint lays the patch over the card, with the grain of printed paper.
func (p *patch) paint(c *canvas, off float32, y0, y1 int) {
	edges := p.quad.lines()
	c.each(y0, y1, p.quad.box(2), func(i int, x, y float32) {
		if k := clamp(depth(edges, x, y) + 0.5); k > 0 {
			c.put(i, k, p.col.times(c.grain(x, y, off)), 1, 0)
		}
	})
}

// grain is the unevenness of printed grey.
func (c *canvas) grain(x, y, off float32) float32 {
	return 1 + 0.006*noise(x/2.1/c.unit+off, y/2.1/c.unit)
}

// seam is an edge between two patches that touch: beyond it lies col.
type seam struct {
	line line
	col  rgb
}

func seams(p []patch) (out []seam) {
	for _, q := range p[1:] {
		out = append(out, seam{q.quad.lines()[3], q.col}) // the left side: inside is to the right
	}
	return out
}
