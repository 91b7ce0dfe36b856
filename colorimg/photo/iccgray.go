package photo

import "hueward/colorimg/cie"

// graySteps is the number of samples of a grey profile's table; between samples, lightness is linear.
const graySteps = 1024

// grayTableEncoding reads a monochrome profile with a look-up table.
func (p *profile) grayTableEncoding() (e *encoding, err error) {
	defer notTable(&e, &err)
	at, err := p.toPCS(1)
	if err != nil {
		return nil, err
	}
	// One curve for each of X, Y and Z: a print's grey may have a tint.
	var f [3][]float64
	for i := range graySteps {
		for k, v := range at(float64(i) / (graySteps - 1)) {
			f[k] = append(f[k], v)
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
			return cie.LabInverse(l[i] + (l[i+1]-l[i])*(x-float64(i)))
		}
		if first, last := e.curve[k](0), e.curve[k](1); !(first < 0.1 && last > 0.7 && last < 1.1) {
			return nil, badProfile("a grey table leads from %.3f to %.3f", first, last)
		}
	}
	return e, nil
}
