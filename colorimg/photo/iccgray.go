package photo

import (
	"bytes"

	"github.com/kovidgoyal/imaging/prism/meta/icc"

	"hueward/colorimg/cie"
)

// graySteps is how finely the table of a grey profile is sampled; between two
// steps the lightness is straight.
const graySteps = 1024

// grayTableEncoding reads a monochrome profile with a look-up table.
//
// Source: ICC.1:2022 section 8.10.3 (which tags to use).
func (p *profile) grayTableEncoding() (e *encoding, err error) {
	defer func() {
		if r := recover(); r != nil {
			e, err = nil, badProfile("grey table: %v", r)
		}
	}()
	for _, t := range []string{"A2B0", "A2B1"} {
		if b := p.tags[t]; b != nil && !soundTable(b, 1) {
			return nil, badProfile("look-up table %s", t)
		}
	}
	q, err := icc.DecodeProfile(bytes.NewReader(p.data))
	if err != nil {
		return nil, badProfile("%v", err)
	}
	tr, err := q.CreateTransformerToPCS(icc.RelativeColorimetricRenderingIntent, 1, true)
	if err != nil {
		return nil, badProfile("%v", err)
	}
	// One curve for each of X, Y and Z: a print's grey may have a tint.
	var f [3][]float64 // cube roots, relative to D50
	for i := range graySteps {
		in, out := make([]float64, 4), make([]float64, 4)
		in[0] = float64(i) / (graySteps - 1)
		tr.TransformGeneral(out, in)
		xyz := cie.XYZ{X: out[0], Y: out[1], Z: out[2]}
		if p.pcs == "Lab " {
			fy := (out[0] + 16) / 116
			xyz = cie.XYZ{X: cie.D50.X * cube(fy+out[1]/500), Y: cube(fy), Z: cie.D50.Z * cube(fy-out[2]/200)}
		}
		for k, v := range [3]float64{xyz.X / cie.D50.X, xyz.Y, xyz.Z / cie.D50.Z} {
			f[k] = append(f[k], cubeRoot(v))
			if i > 0 && !(f[k][i] >= f[k][i-1]-1e-3) { // NaN too
				return nil, badProfile("a grey table falls")
			}
		}
	}
	e = &encoding{matrix: fromPCS.Mul(cie.Matrix{{cie.D50.X, 0, 0}, {0, 1, 0}, {0, 0, cie.D50.Z}})}
	for k, l := range f {
		e.curve[k] = func(v float64) float64 {
			x := min(max(v, 0), 1) * (graySteps - 1)
			i := min(int(x), graySteps-2)
			return cube(l[i] + (l[i+1]-l[i])*(x-float64(i)))
		}
		if first, last := e.curve[k](0), e.curve[k](1); !(first < 0.1 && last > 0.7 && last < 1.1) {
			return nil, badProfile("a grey table leads from %.3f to %.3f", first, last)
		}
	}
	return e, nil
}
