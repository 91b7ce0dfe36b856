package tag

import (
	"math"
	"strings"
	"unicode/utf8"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"

	"hueward/colorimg/photo"
)

// grid is the lightness of a code's modules, row by row.
type grid struct {
	dim int
	v   []float64
}

// grid samples the modules: the mean of nine places in the inner half of each.
func (s *symbol) grid(l *photo.Lightness) (grid, bool) {
	g := grid{s.dim, make([]float64, s.dim*s.dim)}
	for j := range s.dim {
		for i := range s.dim {
			sum := 0.0
			for _, dv := range [3]float64{0.28, 0.5, 0.72} {
				for _, du := range [3]float64{0.28, 0.5, 0.72} {
					x, y := s.map_.Apply(float64(i)+du, float64(j)+dv)
					v, ok := sample(l, x, y)
					if !ok {
						return grid{}, false
					}
					sum += v
				}
			}
			g.v[j*s.dim+i] = sum / 9
		}
	}
	return g, true
}

// fixedModule tells the colour of those modules that are alike in all codes.
func fixedModule(dim, x, y int) (dark, ok bool) {
	for _, c := range [3][2]int{{3, 3}, {dim - 4, 3}, {3, dim - 4}} {
		dx, dy := x-c[0], y-c[1]
		if r := max(dx, -dx, dy, -dy); r <= 4 {
			return r == 3 || r <= 1, true
		}
	}
	if x == 6 || y == 6 {
		return (x+y)&1 == 0, true
	}
	return false, false
}

// timing is the share of the modules between the corner patterns that
// alternate as they must, along the top and along the left.
func (g *grid) timing() (top, left float64) {
	n := 0.0
	for i := 8; i < g.dim-8; i++ {
		n++
		want := i&1 == 0
		// Compared with their neighbours on the line, whatever the light is.
		if a := g.at(i, 6) - (g.at(i-1, 6)+g.at(i+1, 6))/2; a < 0 == want {
			top++
		}
		if a := g.at(6, i) - (g.at(6, i-1)+g.at(6, i+1))/2; a < 0 == want {
			left++
		}
	}
	return top / n, left / n
}

func (g *grid) at(x, y int) float64 { return g.v[y*g.dim+x] }

// planes returns the level half-way between dark and light at each module, by planes laid through the modules whose
// colour is known: light that falls off evenly.
func (g *grid) planes() []float64 {
	var m [2]normal // light, dark
	for y := range g.dim {
		for x := range g.dim {
			if dark, ok := fixedModule(g.dim, x, y); ok {
				k := 0
				if dark {
					k = 1
				}
				m[k].add([]float64{float64(x) / float64(g.dim), float64(y) / float64(g.dim), 1}, g.at(x, y), 1)
			}
		}
	}
	p, _ := m[0].solve()
	q, _ := m[1].solve()
	t := make([]float64, len(g.v))
	for y := range g.dim {
		for x := range g.dim {
			u, v := float64(x)/float64(g.dim), float64(y)/float64(g.dim)
			t[y*g.dim+x] = ((p[0]+q[0])*u + (p[1]+q[1])*v + p[2] + q[2]) / 2
		}
	}
	return t
}

// windows returns the level half-way between the darkest and the lightest
// module within r modules: the edge of a shadow.
func (g *grid) windows(r int) []float64 {
	t := make([]float64, len(g.v))
	for y := range g.dim {
		for x := range g.dim {
			lo, hi := math.Inf(1), math.Inf(-1)
			for j := max(0, y-r); j <= min(g.dim-1, y+r); j++ {
				for i := max(0, x-r); i <= min(g.dim-1, x+r); i++ {
					lo, hi = min(lo, g.at(i, j)), max(hi, g.at(i, j))
				}
			}
			t[y*g.dim+x] = (lo + hi) / 2
		}
	}
	return t
}

// sharpened returns the grid with blur undone: by is the share that each module has of its neighbours' lightness.
func (g *grid) sharpened(by float64) grid {
	out := grid{g.dim, make([]float64, len(g.v))}
	for y := range g.dim {
		for x := range g.dim {
			v, sum, n := g.at(x, y), 0.0, 0.0
			for _, d := range [4][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
				if i, j := x+d[0], y+d[1]; i >= 0 && j >= 0 && i < g.dim && j < g.dim {
					sum, n = sum+g.at(i, j), n+1
				}
			}
			out.v[y*g.dim+x] = v + by*(v-sum/n)
		}
	}
	return out
}

// text decodes the modules with several threshold levels, the simplest first; empty: none gives a code.
func (g *grid) text() string {
	sharp, sharper := g.sharpened(0.6), g.sharpened(1.5)
	windows := func(g *grid) []float64 { return g.windows(3) }
	for _, way := range []struct {
		g     *grid
		level func(*grid) []float64
	}{{g, (*grid).planes}, {&sharp, (*grid).planes}, {g, windows}, {&sharp, windows}, {&sharper, (*grid).planes}} {
		if s := way.g.decode(way.level(way.g)); s != "" {
			return s
		}
	}
	return ""
}

// decode reads the modules that are darker than their level as dark. Empty: that is no code.
func (g *grid) decode(level []float64) (text string) {
	defer func() {
		if recover() != nil { // the library's, on what is no code
			text = ""
		}
	}()
	bits := func() *gozxing.BitMatrix { // anew for each try: Decode changes them
		b, err := gozxing.NewSquareBitMatrix(g.dim)
		if err != nil {
			return nil
		}
		for i, v := range g.v {
			if v < level[i] {
				b.Set(i%g.dim, i/g.dim)
			}
		}
		return b
	}
	// UTF-8 unless the code says otherwise: left to guess, the library takes some names for Japanese.
	utf := map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_CHARACTER_SET: "UTF-8"}
	r, err := decoder.NewDecoder().Decode(bits(), utf)
	if err != nil {
		return ""
	}
	if meta, ok := r.GetOther().(*decoder.QRCodeDecoderMetaData); ok && meta.IsMirrored() {
		return ""
	}
	text = r.GetText()
	if strings.ContainsRune(text, utf8.RuneError) {
		if r, err := decoder.NewDecoder().Decode(bits(), nil); err == nil {
			text = r.GetText()
		}
	}
	return text
}
