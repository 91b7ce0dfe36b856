package camera

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"hueward/colorimg/cie"
	"hueward/colorimg/patches"
)

// Options says how to learn. Nil and the zero value are the usual case.
type Options struct {
	Profile string // name of the colour profile of the chart's photo, as photo.Photo has it
}

// Errors of [Fit] for charts that it cannot learn from.
var (
	ErrFew    = errors.New("too few readable patches")
	ErrNoGray = errors.New("no readable grey patch")
)

// The least numbers of patches for each part of a model: a few more than it has parameters. The least of all is 4.
const (
	fewest       = 4
	fewestGrays  = 3 // for a curve
	fewestMatrix = 8
	fewestRoot2  = 16
	fewestRoot3  = 36
)

// clippedShare is the largest share of a patch that may be too bright to read.
const clippedShare = 0.02

// Fit learns a model from the patches of one photo. The candidates are the grey card alone, the tone curve, and with it
// a matrix and root-polynomials; those for which there are too few patches are not tried. The simplest is taken whose
// leave-one-out error is within one standard error of the best (Breiman, Friedman, Olshen, Stone 1984, section 3.4.3).
// Patches that are clipped or black are left out and named; those more vivid than the photo can hold count for less,
// and are named too.
//
// It returns ErrFew or ErrNoGray, with the reason in words.
func Fit(samples []patches.Sample, opt *Options) (*Model, error) {
	space := cie.SRGB.Name
	if opt != nil && strings.Contains(opt.Profile, "P3") {
		space = cie.DisplayP3.Name
	}
	data, left := usable(samples, space)
	grays := 0
	for _, d := range data {
		if d.Neutral {
			grays++
		}
	}
	switch {
	case len(data) < fewest:
		return nil, fmt.Errorf("%w: %d of %d, want %d or more%s", ErrFew, len(data), len(samples), fewest, because(left))
	case grays == 0:
		return nil, fmt.Errorf("%w%s", ErrNoGray, because(left))
	}
	var tried []trial
	for _, c := range candidates(len(data), grays) {
		t := trial{form: c, space: space}
		t.fit(data, 60)
		t.leaveOneOut(data)
		t.wild = c.degree > 1 && t.far(&tried[len(tried)-1]) > wildest
		tried = append(tried, t)
	}
	best := choose(tried)
	m := tried[best].model(tried[best].x)
	m.Patches, m.LeftOut, m.Error = len(data), left, summary(tried[best].out)
	for i, d := range data {
		if d.cut {
			m.Cut = append(m.Cut, d.ID)
		}
		if e := tried[best].out[i]; !math.IsNaN(e) {
			m.Errors = append(m.Errors, PatchError{d.ID, e})
		}
	}
	for i := range tried {
		t := &tried[i]
		m.Candidates = append(m.Candidates, Candidate{
			Name: nameOf(t.kind(), t.degree, t.curve), Kind: t.kind(), Degree: t.degree, Curve: t.curve,
			Error: summary(t.out), Wild: t.wild, Chosen: i == best,
		})
	}
	return m, nil
}

func because(left []LeftOut) string {
	if len(left) == 0 {
		return ""
	}
	return fmt.Sprintf("; patch %s is %s", left[0].ID, left[0].Why)
}

// datum is a patch ready to be fitted to.
type datum struct {
	patches.Sample
	ref  cie.Lab
	lin  [3]float64    // ref as linear sRGB
	cut  bool          // more vivid than the photo can hold
	unit [3][3]float64 // from a difference in Lab to one whose length is Delta E 2000, near ref
}

func usable(samples []patches.Sample, space string) (data []datum, left []LeftOut) {
	for _, s := range samples {
		why := ""
		y := cie.SRGB.XYZ(s.RGB).Y
		switch sum := floats.Sum([]float64{s.RGB[0], s.RGB[1], s.RGB[2], s.Ref.X, s.Ref.Y, s.Ref.Z}); {
		case math.IsNaN(sum - sum): // infinite, too
			why = "not a number"
		case s.Clipped > clippedShare:
			why = "too bright to read"
		case y < 5e-4:
			why = "too dark to read"
		case s.Ref.Y <= 0:
			why = "black by its file"
		}
		if why != "" {
			left = append(left, LeftOut{s.ID, why})
			continue
		}
		ref := s.Ref.Lab()
		data = append(data, datum{s, ref, cie.SRGB.RGB(s.Ref), isCut(s.RGB, space), unitOf(ref)})
	}
	return data, left
}

// isCut reports whether a channel of the photo's own space is nearly 0 while
// another is not: a colour outside the photo's gamut, which was clipped.
func isCut(rgb [3]float64, space string) bool {
	if space == cie.DisplayP3.Name {
		rgb = apply(&toP3, rgb)
	}
	low, high := min(rgb[0], rgb[1], rgb[2]), max(rgb[0], rgb[1], rgb[2])
	return low < 0.0025 && low < 0.1*high
}

// unitOf returns the matrix that makes a small difference in Lab around c one whose length is its Delta E 2000: the
// root of the local metric, taken from small steps.
func unitOf(c cie.Lab) (u [3][3]float64) {
	const h = 0.1
	at := func(d [3]float64) float64 {
		e := cie.DeltaE2000(c, cie.Lab{L: c.L + d[0], A: c.A + d[1], B: c.B + d[2]}) / h
		return e * e
	}
	q := mat.NewSymDense(3, nil)
	for i := range 3 {
		for j := range i + 1 {
			var x, y [3]float64
			x[i], y[i] = h, h
			if i == j {
				q.SetSym(i, i, at(x))
				continue
			}
			x[j] += h
			y[j] -= h
			q.SetSym(i, j, (at(x)-at(y))/4)
		}
	}
	var ch mat.Cholesky
	if !ch.Factorize(q) { // on the hue cut: go without the mixed terms
		for i := range 3 {
			u[i][i] = math.Sqrt(q.At(i, i))
		}
		return u
	}
	var t mat.TriDense
	ch.UTo(&t)
	for i := range 3 {
		for j := i; j < 3; j++ {
			u[i][j] = t.At(i, j)
		}
	}
	return u
}

// anchor returns the grey patch that the others are scaled by, as later photos are by their card: the one nearest to 18 %,
// without patch skip (-1: none is skipped). It is -1 where no grey is left.
func anchor(data []datum, skip int) int {
	best, least := -1, math.Inf(1)
	for i, d := range data {
		if far := math.Abs(math.Log(d.Ref.Y / 0.18)); d.Neutral && i != skip && far < least {
			best, least = i, far
		}
	}
	return best
}
