package card

import (
	"errors"
	"math"

	"hueward/colorimg/cie"
	"hueward/colorimg/robust"
)

// Curve undoes a camera's tone curve and the colour of the light in one step: it maps linear light according to the
// photo's file to reflectance, relative to white in the light of the card. A grey card of 18 % becomes 0.18, 0.18, 0.18,
// so no gains must be applied after it.
type Curve struct {
	Contrast [3]float64 // slope of the camera's curve in the middle, by channel; 1: the camera changed nothing
	White    bool       // the white patch was used; false: it is too bright to read
	Black    bool       // the black patch was used; false: it is too dark to read
	table    [3][]float32
	slope    [3]float32 // above the table
	gain     [3]float32 // below 0
}

// ErrStrip is returned where no curve fits the strip.
var ErrStrip = errors.New("the strip's white, grey and black do not fit a camera's curve")

// fitted is the curve of a channel. With L the logit, e the sRGB code of the light that
// was read, and x the code of the light before the camera's curve,
//
//	L(e) = shift + contrast · L(x)
//
// reflectance = gain · linear(x). With contrast 1 and shift 0 it is the plain gain of a grey card. An S-shaped curve
// between codes 0 and 1 is nearly straight in logits: over five families of curves this form left less than half the
// error of a monotone interpolation of the three points in logarithms or in codes. No source for the form;
// TestStripCurves measures it.
type fitted struct{ gain, shift, contrast float64 }

func (f fitted) reflectance(z float64) float64 {
	return f.gain * cie.Linear(1/(1+math.Exp(-(z-f.shift)/f.contrast)))
}

func logit(e float64) float64 { return math.Log(e / (1 - e)) }

// sRGB codes (0 to 1) outside these are too near to black or to the file's white to be read. Our own choice.
const minCode, maxCode = 0.012, 0.99

// Curve fits a curve to the strip. It returns ErrStrip where the patches do not grow lighter from black to white, or would
// need a curve that no camera has, as when a shadow lies across the strip; then use the grey patch alone.
func (s Strip) Curve() (*Curve, error) {
	c := &Curve{White: s.White.Clipped < 0.02, Black: true}
	for k := range 3 {
		w, g, b := s.White.RGB[k], s.Grey.RGB[k], s.Black.RGB[k]
		if !(w > 1.15*g && g > 1.15*b && b > 0 && w < 10 && s.White.Y > s.Grey.Y && s.Grey.Y > s.Black.Y && s.Black.Y > 0) {
			return nil, ErrStrip
		}
		c.White = c.White && cie.Encode(w) < maxCode
		c.Black = c.Black && cie.Encode(b) > minCode
		if e := cie.Encode(g); !(e > minCode && e < maxCode) {
			return nil, ErrStrip
		}
	}
	if !c.White && !c.Black {
		return nil, ErrStrip
	}
	for k := range 3 {
		var z, y []float64
		for _, p := range []struct {
			Patch
			counts bool
		}{{s.Black, c.Black}, {s.Grey, true}, {s.White, c.White}} {
			if p.counts {
				z, y = append(z, logit(cie.Encode(p.RGB[k]))), append(y, p.Y)
			}
		}
		f, ok := fitCurve(z, y, s.Grey.Y/s.Grey.RGB[k])
		if !ok {
			return nil, ErrStrip
		}
		c.Contrast[k], c.gain[k] = f.contrast, float32(s.Grey.Y/s.Grey.RGB[k])
		low := 0.5 * cie.Encode(s.Black.RGB[k])
		high := 0.97
		if c.White {
			high = max(high, cie.Encode(s.White.RGB[k]))
		}
		c.tabulate(k, f, max(low, 0.004), min(high, maxCode))
	}
	return c, nil
}

// greyLogit is the logit of the sRGB code of 18 %, which a curve fitted to two points leaves unchanged.
var greyLogit = logit(cie.Encode(0.18))

// fitCurve returns the gain, shift and contrast that map the logits z to the reflectances y, by Levenberg-Marquardt on
// logarithms. A small penalty on contrast and shift keeps a reading that is wrong by one per cent from bending the curve.
// With two points, the curve is one that leaves 18 % unchanged.
func fitCurve(z, y []float64, gain float64) (fitted, bool) {
	const pull = 0.03 // an error of one per cent costs as much as a contrast that is off by a third
	curve := func(t []float64) fitted {
		f := fitted{gain: math.Exp(t[0]), contrast: math.Exp(t[1])}
		if len(t) == 3 {
			f.shift = t[2]
		} else {
			f.shift = greyLogit * (1 - f.contrast)
		}
		return f
	}
	t := []float64{math.Log(gain), 0, 0}[:min(len(z), 3)]
	errs := func(t, r []float64) {
		f := curve(t)
		for i := range z {
			r[i] = math.Log(f.reflectance(z[i]) / y[i])
		}
		for i, v := range t[1:] {
			r[len(z)+i] = pull * v
		}
	}
	r := make([]float64, len(z)+len(t)-1)
	robust.Least(t, len(r), errs, 80)
	errs(t, r)
	f := curve(t)
	worst := 0.0
	for i := range z {
		worst = max(worst, math.Abs(r[i])) // NaN stays NaN
	}
	return f, worst < 0.05 && f.contrast > 0.45 && f.contrast < 2.6 && f.gain > 0
}

const tableSize = 1024 // steps in the square root of light, 0 to 1

// tabulate makes the table of channel k's curve, so that applying it takes no longer than applying gains. Below the code
// low, where the curve would be steep and amplify noise, it is a line to 0; above the code high it is a straight line.
func (c *Curve) tabulate(k int, f fitted, low, high float64) {
	at := func(e float64) float64 { return f.reflectance(logit(e)) }
	vl, vh := cie.Linear(low), cie.Linear(high)
	yl, yh := at(low), at(high)
	slope := (yh - at(high-0.01)) / (vh - cie.Linear(high-0.01))
	t := make([]float32, tableSize+2)
	for i := range t {
		r := float64(i) / tableSize
		switch v := r * r; {
		case v < vl:
			t[i] = float32(yl * v / vl)
		case v > vh:
			t[i] = float32(yh + slope*(v-vh))
		default:
			t[i] = float32(at(cie.Encode(v)))
		}
	}
	c.table[k], c.slope[k] = t, float32(slope)
}

// Apply returns the reflectance for the linear colour of a pixel, channel by channel. It is increasing; for
// values below 0 and above 1, which are outside sRGB, it is linear.
func (c *Curve) Apply(rgb [3]float32) [3]float32 {
	for k, v := range rgb {
		t := c.table[k]
		switch {
		case v >= 1:
			rgb[k] = t[tableSize] + c.slope[k]*(v-1)
		case v > 0:
			p := float32(math.Sqrt(float64(v))) * tableSize
			i := int(p)
			rgb[k] = t[i] + (t[i+1]-t[i])*(p-float32(i))
		default: // a colour outside sRGB, not a dark one: use the grey's gain, not black's, which is steep
			rgb[k] = v * c.gain[k]
		}
	}
	return rgb
}
