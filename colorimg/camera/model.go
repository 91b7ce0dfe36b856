package camera

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"time"

	"hueward/colorimg/cie"
)

// Kind says what a model does besides undoing the tone curve.
type Kind string

// The kinds, from the simplest.
const (
	Gains          Kind = "gains"           // nothing: the grey card's gains are enough
	Matrix         Kind = "matrix"          // a 3 × 3 matrix
	RootPolynomial Kind = "root-polynomial" // a root-polynomial of degree 2 or 3
)

// Model is what was learnt about one phone's colours. It keeps neutral colours neutral.
type Model struct {
	Kind   Kind
	Degree int    // of the terms: 0 for Gains, 1 for Matrix, 2 or 3
	Space  string // of the values that the curve works on: "sRGB" or "Display P3", as the phone writes

	Curve []float64    // undoes the tone curve, see curve; empty: none
	Coef  [3][]float64 // of Display P3 red, green and blue: a weight for each term, 0 for the channel itself

	Patches    int         // how many it was learnt from
	Error      Errors      // leave-one-out, of the candidate chosen
	Candidates []Candidate // all that were tried, from the simplest
	Errors     []PatchError
	LeftOut    []LeftOut
	Cut        []string  // patches more vivid than the photo can hold; they count for less
	Learnt     time.Time // when; the caller's to set, whole seconds
}

// Errors are Delta E 2000 over the patches.
type Errors struct {
	Mean   float64 `json:"mean"`
	Median float64 `json:"median"`
	RMS    float64 `json:"rms"` // root mean square
	Worst  float64 `json:"worst"`
}

// Candidate is one form that was tried.
type Candidate struct {
	Name   string `json:"name"`
	Kind   Kind   `json:"kind"`
	Degree int    `json:"degree"`
	Curve  bool   `json:"curve"` // with the tone curve undone
	Error  Errors `json:"error"` // leave-one-out
	Wild   bool   `json:"wild"`  // departs too far from the form before it, where the chart has no patches
	Chosen bool   `json:"chosen"`
}

// PatchError is one patch as a model predicts it that has not seen it.
type PatchError struct {
	ID     string  `json:"patch"`
	DeltaE float64 `json:"delta_e"`
}

// LeftOut is a patch that could not be used.
type LeftOut struct {
	ID  string `json:"patch"`
	Why string `json:"why"`
}

// floor is the standard error, in Delta E 2000, that no chart shows: petals reflect light unlike paint, shine and are
// translucent, and charts differ from their printed values. A guess, to be replaced by comparing petals with an instrument.
const floor = 1.0

// Trueness returns the standard error of a later photo's colour against an
// instrument, in Delta E 2000, as far as it is due to the phone.
func (m *Model) Trueness() float64 { return math.Hypot(m.Error.RMS, floor) }

// String describes the model, such as "curve and matrix of 24 patches, 2026-07-14".
func (m *Model) String() string {
	s := fmt.Sprintf("%s of %d patches", nameOf(m.Kind, m.Degree, len(m.Curve) > 0), m.Patches)
	if !m.Learnt.IsZero() {
		s += ", " + m.Learnt.Format("2006-01-02")
	}
	return s
}

func nameOf(k Kind, degree int, curve bool) string {
	var parts []string
	if curve {
		parts = append(parts, "curve")
	}
	if k != Gains {
		parts = append(parts, map[Kind]string{Matrix: "matrix", RootPolynomial: fmt.Sprintf("root-polynomial of degree %d", degree)}[k])
	}
	return cmp.Or(strings.Join(parts, " and "), "grey card alone")
}

// Of returns the model of the camera that EXIF calls name, whatever its case;
// nil when there is none or the name is empty.
func Of(models map[string]*Model, name string) *Model {
	if m := models[name]; m != nil || name == "" {
		return m
	}
	for key, m := range models {
		if strings.EqualFold(key, name) {
			return m
		}
	}
	return nil
}

// toP3 converts linear sRGB to linear Display P3, in which the terms are taken: there, no colour that a phone can write has
// a channel below 0, so that roots of vivid colours exist.
var (
	toP3   = cie.DisplayP3.FromXYZ.Mul(cie.SRGB.ToXYZ)
	fromP3 = cie.SRGB.FromXYZ.Mul(cie.DisplayP3.ToXYZ)
)

func apply(m *cie.Matrix, v [3]float64) [3]float64 {
	x, y, z := m.Apply(v[0], v[1], v[2])
	return [3]float64{x, y, z}
}

// Uncurve undoes the phone's tone curve. It takes light as it was read from
// the photo, before any gain, as the curve depends on absolute code values.
func (m *Model) Uncurve(rgb [3]float64) [3]float64 {
	if len(m.Curve) == 0 {
		return rgb
	}
	if m.Space == cie.DisplayP3.Name {
		rgb = apply(&toP3, rgb)
	}
	for i, v := range rgb {
		rgb[i] = curve(m.Curve).at(v)
	}
	if m.Space == cie.DisplayP3.Name {
		rgb = apply(&fromP3, rgb)
	}
	return rgb
}

// Apply undoes what the phone does to colours once its curve is undone. k
// times a colour gives k times the result, and grey stays as it is.
//
// Use it before the grey card's gains: phones add saturation after white
// balance, so a remaining colour of the light was saturated, too.
func (m *Model) Apply(rgb [3]float64) [3]float64 {
	if m.Kind == Gains {
		return rgb
	}
	return apply(&fromP3, correct(m.Coef, m.Degree, apply(&toP3, rgb)))
}
