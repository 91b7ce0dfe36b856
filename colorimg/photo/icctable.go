package photo

import (
	"bytes"
	"encoding/binary"
	"image/color"
	"math"

	"github.com/kovidgoyal/imaging/prism/meta/icc"

	"hueward/colorimg/cie"
)

// gridSide is the number of nodes along each axis of a grid; a common size of the tables inside profiles themselves.
const gridSide = 33

// grid is a look-up-table profile sampled on a cube of stored values. A node holds the cube-root values f(X/Xn),
// f(Y/Yn), f(Z/Zn) under D50, which are nearly straight between nodes where linear light is not. Between nodes the
// value is interpolated along three axes, pixel by pixel, before anything is averaged.
type grid [gridSide * gridSide * gridSide][3]float32

// toPCS returns a function that looks a colour of so many stored values, 0 to 1, up in the profile's A2B table, through the
// library, with the relative colorimetric intent. It gives cube-root values as in grid.
//
// Source: ICC.1:2022 section 8.10 (which tags to use).
func (p *profile) toPCS(channels int) (func(v ...float64) [3]float64, error) {
	for _, t := range []string{"A2B0", "A2B1"} {
		if b := p.tags[t]; b != nil && !soundTable(b, channels) {
			return nil, badProfile("look-up table %s", t)
		}
	}
	q, err := icc.DecodeProfile(bytes.NewReader(p.data))
	if err != nil {
		return nil, badProfile("%v", err)
	}
	tr, err := q.CreateTransformerToPCS(icc.RelativeColorimetricRenderingIntent, channels, true)
	if err != nil {
		return nil, badProfile("%v", err)
	}
	return func(v ...float64) [3]float64 {
		var in, out [4]float64
		copy(in[:], v)
		tr.TransformGeneral(out[:], in[:])
		if p.pcs == "Lab " {
			fy := (out[0] + 16) / 116
			return [3]float64{fy + out[1]/500, fy, fy - out[2]/200}
		}
		return [3]float64{cie.LabF(out[0] / cie.D50.X), cie.LabF(out[1] / cie.D50.Y), cie.LabF(out[2] / cie.D50.Z)}
	}, nil
}

// notTable turns a panic of the library into an error.
func notTable(e **encoding, err *error) {
	if r := recover(); r != nil {
		*e, *err = nil, badProfile("look-up table: %v", r)
	}
}

// tableEncoding samples the profile's table.
func (p *profile) tableEncoding() (e *encoding, err error) {
	defer notTable(&e, &err)
	at, err := p.toPCS(3)
	if err != nil {
		return nil, err
	}
	g := new(grid)
	for i := range g {
		r, gr, b := i/(gridSide*gridSide), i/gridSide%gridSide, i%gridSide
		for k, v := range at(node(r), node(gr), node(b)) {
			if !(math.Abs(v) < 4) { // NaN too
				return nil, badProfile("look-up table out of range")
			}
			g[i][k] = float32(v)
		}
	}
	black, white := g[0], g[len(g)-1]
	// White must come out near white and black dark, else the table is damaged.
	if !(white[1] > 0.93 && math.Abs(float64(white[0]-white[1])) < 0.04 && math.Abs(float64(white[2]-white[1])) < 0.1 && black[1] < 0.5) {
		return nil, badProfile("look-up table: white is %v, black %v", white, black)
	}
	return &encoding{grid: g, matrix: fromPCS}, nil
}

func node(i int) float64 { return float64(i) / (gridSide - 1) }

// soundTable checks a look-up table before the library reads it: it must have in channels in and three out, and no curve
// that claims more points than there are bytes, for which the library would allocate memory.
//
// Source: ICC.1:2022 sections 10.10 to 10.12.
func soundTable(b []byte, in int) bool {
	if len(b) < 32 || int(b[8]) != in || b[9] != 3 {
		return false
	}
	if string(b[:4]) != "mAB " {
		return true // its sizes are 8- and 16-bit numbers
	}
	for _, c := range []struct{ at, n int }{{12, 3}, {20, 3}, {28, in}} { // offsets of the B, M and A curves
		off := int64(binary.BigEndian.Uint32(b[c.at:]))
		for i := 0; off != 0 && i < c.n; i++ {
			if off+12 > int64(len(b)) {
				return false
			}
			c := b[off:]
			switch string(c[:4]) {
			case "curv":
				off += 12 + 2*int64(binary.BigEndian.Uint32(c[8:]))
			case "para":
				kind := binary.BigEndian.Uint16(c[8:])
				if kind > 4 {
					return false
				}
				off += 12 + 4*[]int64{1, 3, 4, 5, 7}[kind]
			default:
				return false
			}
			if off > int64(len(b)) {
				return false
			}
			off = (off + 3) &^ 3
		}
	}
	return true
}

// at returns XYZ under D50 of the stored colour c.
func (g *grid) at(c color.NRGBA64) (x, y, z float64) {
	var i0 [3]int
	var t [3]float64
	for k, v := range [3]uint16{c.R, c.G, c.B} {
		s := float64(v) / 65535 * (gridSide - 1)
		i0[k] = min(int(s), gridSide-2)
		t[k] = s - float64(i0[k])
	}
	var f [3]float64
	for corner := range 8 {
		w, n := 1.0, 0
		for k := range 3 {
			bit := corner >> k & 1
			n = n*gridSide + i0[k] + bit
			if bit == 1 {
				w *= t[k]
			} else {
				w *= 1 - t[k]
			}
		}
		if w == 0 {
			continue
		}
		for k, v := range g[n] {
			f[k] += w * float64(v)
		}
	}
	return cie.D50.X * cie.LabInverse(f[0]), cie.D50.Y * cie.LabInverse(f[1]), cie.D50.Z * cie.LabInverse(f[2])
}
