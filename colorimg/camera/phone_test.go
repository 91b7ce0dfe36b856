package camera

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/patches"
	"hueward/colorimg/render"
)

// chart is a 24-patch chart: its average L*, a*, b* under D50.
//
// Source: the averages published for the classic 24-patch chart, from memory.
var chart = [24]cie.Lab{
	{L: 37.986, A: 13.555, B: 14.059}, {L: 65.711, A: 18.130, B: 17.810}, {L: 49.927, A: -4.880, B: -21.925},
	{L: 43.139, A: -13.095, B: 21.905}, {L: 55.112, A: 8.844, B: -25.399}, {L: 70.719, A: -33.397, B: -0.199},
	{L: 62.661, A: 36.067, B: 57.096}, {L: 40.020, A: 10.410, B: -45.964}, {L: 51.124, A: 48.239, B: 16.248},
	{L: 30.325, A: 22.976, B: -21.587}, {L: 72.532, A: -23.709, B: 57.255}, {L: 71.941, A: 19.363, B: 67.857},
	{L: 28.778, A: 14.179, B: -50.297}, {L: 55.261, A: -38.342, B: 31.370}, {L: 42.101, A: 53.378, B: 28.190},
	{L: 81.733, A: 4.039, B: 79.819}, {L: 51.935, A: 49.986, B: -14.574}, {L: 51.038, A: -28.631, B: -28.638},
	{L: 96.539, A: -0.425, B: 1.186}, {L: 81.257, A: -0.638, B: -0.335}, {L: 66.766, A: -0.734, B: -0.504},
	{L: 50.867, A: -0.153, B: -0.270}, {L: 35.656, A: -0.421, B: -1.231}, {L: 20.461, A: -0.079, B: -0.973},
}

// petals are garden flowers' colours, the last of them more vivid than any
// patch (made up; common practice, no source).
var petals = []cie.Lab{
	{L: 76, A: 14, B: 38}, {L: 68, A: 30, B: 66}, {L: 88, A: 2, B: 24}, {L: 72, A: 24, B: -7}, {L: 93, A: -1, B: 5},
	{L: 60, A: 40, B: 10}, {L: 45, A: 30, B: -30}, {L: 80, A: -10, B: 40}, {L: 55, A: 55, B: 25}, {L: 84, A: 4, B: 70},
	{L: 38, A: 50, B: 20}, {L: 65, A: 20, B: 30}, {L: 86, A: 10, B: 12}, {L: 50, A: 20, B: -45}, {L: 30, A: 30, B: 5},
}

var vivid = []cie.Lab{
	{L: 48, A: 70, B: 50}, {L: 62, A: 52, B: 72}, {L: 85, A: 2, B: 95}, {L: 42, A: 68, B: -35}, {L: 32, A: 45, B: -60},
	{L: 55, A: 75, B: 5},
}

// phone is a made-up phone: balances the light but for a rest, adds
// saturation, then a tone curve, and encodes in 8 bits.
type phone struct {
	space    cie.Space
	sat      float64 // of the linear channels, 1: none
	late     float64 // of the encoded channels, after the curve; 1: none
	curve    func(e float64) float64
	cross    [3][3]float64 // before the saturation; zero: none
	noise    float64       // share of a patch's light
	rounding bool
}

func straight(e float64) float64 { return e }

// contrast is an S-shape: k of the way from straight to 3e² − 2e³.
func contrast(k float64) func(float64) float64 {
	return func(e float64) float64 { return (1-k)*e + k*e*e*(3-2*e) }
}

// bright lifts the shadows and bends the highlights over: a power, then an
// S-shape.
func bright(gamma, k float64) func(float64) float64 {
	s := contrast(k)
	return func(e float64) float64 { return s(math.Pow(e, gamma)) }
}

// shoot returns what a photo holds of surfaces in linear light of the sRGB
// primaries, under a light of those gains.
func (p *phone) shoot(surface cie.XYZ, light [3]float64, r *rand.Rand) [3]float64 {
	c := cie.SRGB.RGB(surface)
	v := [3]float64{c[0] * light[0], c[1] * light[1], c[2] * light[2]}
	if p.cross != ([3][3]float64{}) {
		m := cie.Matrix(p.cross)
		v = apply(&m, v)
	}
	if r != nil {
		for i := range v {
			v[i] *= 1 + p.noise*r.NormFloat64()
		}
	}
	in := p.space.FromXYZ.Mul(cie.SRGB.ToXYZ)
	v = apply(&in, v)
	saturate := func(k float64) {
		y := 0.2126*v[0] + 0.7152*v[1] + 0.0722*v[2]
		for i := range v {
			v[i] = y + k*(v[i]-y)
		}
	}
	saturate(p.sat)
	for i := range v {
		v[i] = p.curve(cie.Encode(min(max(v[i], 0), 1)))
	}
	if p.late != 0 {
		saturate(p.late)
	}
	for i := range v {
		v[i] = min(max(v[i], 0), 1)
		if p.rounding {
			v[i] = math.Round(v[i]*255) / 255
		}
		v[i] = cie.Linear(v[i])
	}
	out := cie.SRGB.FromXYZ.Mul(p.space.ToXYZ)
	return apply(&out, v)
}

// chartPhoto is what a photo of the chart shows.
func (p *phone) chartPhoto(light [3]float64, r *rand.Rand) []patches.Sample {
	var s []patches.Sample
	for i, c := range chart {
		// D50 Lab to XYZ, adapted to D65.
		x := c.XYZ()
		x = cie.Adapt(cie.XYZ{X: x.X * cie.D50.X / cie.D65.X, Y: x.Y, Z: x.Z * cie.D50.Z / cie.D65.Z}, cie.D50, cie.D65)
		s = append(s, patches.Sample{
			ID: strconv.Itoa(i + 1), RGB: p.shoot(x, light, r), Ref: x, Neutral: i >= 18, Pixels: 400,
			SE: [3]float64{1e-3, 1e-3, 1e-3},
		})
	}
	return s
}

// measure reads a petal from a photo with a grey card, corrected by m before
// the card's gains, or, when late, with Apply after them; nil: by the card alone.
func (p *phone) measure(m *Model, petal cie.Lab, light [3]float64, late bool) cie.Lab {
	gray := cie.XYZ{X: 0.18 * cie.D65.X, Y: 0.18, Z: 0.18 * cie.D65.Z}
	undo := func(v [3]float64) [3]float64 {
		if m == nil {
			return v
		}
		if late {
			return m.Uncurve(v)
		}
		return m.Apply(m.Uncurve(v))
	}
	c, v := undo(p.shoot(gray, light, nil)), undo(p.shoot(petal.XYZ(), light, nil))
	for i := range v {
		v[i] *= 0.18 / c[i]
	}
	if late && m != nil {
		v = m.Apply(v)
	}
	return cie.SRGB.XYZ(v).Lab()
}

var phones = map[string]*phone{
	"plain":           {space: cie.SRGB, sat: 1, curve: straight},
	"contrast":        {space: cie.SRGB, sat: 1, curve: contrast(0.5)},
	"saturation":      {space: cie.SRGB, sat: 1.25, curve: straight},
	"usual":           {space: cie.SRGB, sat: 1.25, curve: bright(0.9, 0.4), noise: 0.01, rounding: true},
	"usual, wide":     {space: cie.DisplayP3, sat: 1.25, curve: bright(0.9, 0.4), noise: 0.01, rounding: true},
	"strong, wide":    {space: cie.DisplayP3, sat: 1.4, curve: bright(0.8, 0.6), noise: 0.01, rounding: true},
	"late saturation": {space: cie.DisplayP3, sat: 1, late: 1.2, curve: bright(0.9, 0.4), noise: 0.01, rounding: true},
	"crosstalk": {space: cie.DisplayP3, sat: 1.1, curve: bright(0.9, 0.3), noise: 0.01,
		cross: [3][3]float64{{0.9, 0.08, 0.02}, {-0.05, 1.1, -0.05}, {0.02, -0.12, 1.1}}, rounding: true},
	"as rendered": {space: cie.SRGB, sat: render.UsualPhone.Saturation, noise: 0.01, rounding: true, curve: func(e float64) float64 {
		v := cie.Linear(e)
		return cie.Encode(render.UsualPhone.Apply(cie.RGB{v, v, v})[1])
	}},
}

// lights are gains of later photos: exposures, and what a phone's white
// balance leaves of a warm and of a cold light.
var lights = [][3]float64{{0.7, 0.7, 0.7}, {0.78, 0.7, 0.62}, {0.45, 0.5, 0.55}}

// chartLight is that of the chart's photo.
var chartLight = [3]float64{0.78, 0.8, 0.72}

func learn(t testing.TB, p *phone) *Model {
	t.Helper()
	m := must.Have(Fit(p.chartPhoto(chartLight, rand.New(rand.NewPCG(1, 2))), &Options{Profile: p.space.Name}))(t)
	return m
}
