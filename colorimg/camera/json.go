package camera

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"time"

	"hueward/colorimg/cie"
)

// version is that of a model's JSON form.
const version = 1

// ErrNewer is returned for a model written by a newer hueward.
var ErrNewer = errors.New("a camera model of a newer hueward")

// stored is a model's JSON form, as a book keeps it.
type stored struct {
	Version    int          `json:"version"`
	Kind       Kind         `json:"kind"`
	Degree     int          `json:"degree"`
	Space      string       `json:"space"`
	Curve      []float64    `json:"curve"`
	Coef       [3][]float64 `json:"coefficients"`
	Patches    int          `json:"patches"`
	Error      Errors       `json:"error"`
	Trueness   float64      `json:"trueness"` // for other programs; not read back
	Candidates []Candidate  `json:"candidates"`
	Errors     []PatchError `json:"errors"`
	LeftOut    []LeftOut    `json:"left_out"`
	Cut        []string     `json:"cut"`
	Learnt     time.Time    `json:"learnt,omitzero"`
}

// MarshalJSON writes the model with its version.
func (m *Model) MarshalJSON() ([]byte, error) {
	s := stored{
		Version: version, Kind: m.Kind, Degree: m.Degree, Space: m.Space, Curve: list(m.Curve),
		Patches: m.Patches, Error: m.Error, Trueness: m.Trueness(), Candidates: list(m.Candidates), Errors: list(m.Errors),
		LeftOut: list(m.LeftOut), Cut: list(m.Cut), Learnt: m.Learnt.UTC().Truncate(time.Second),
	}
	for c := range s.Coef {
		s.Coef[c] = list(m.Coef[c])
	}
	return json.Marshal(s)
}

// list returns v, or an empty slice for nil, so that JSON has [] and not null.
func list[T any](v []T) []T {
	if v == nil {
		return []T{}
	}
	return v
}

// largest is the largest valid coefficient: a larger one is due to damage. A
// guess; those of the simulated phones are below 1.
const largest = 20

// UnmarshalJSON reads a model back. A damaged one is an error, and so is one
// of a newer version (ErrNewer); m is then as it was.
func (m *Model) UnmarshalJSON(b []byte) error {
	var s stored
	if err := json.Unmarshal(b, &s); err != nil {
		return fmt.Errorf("camera model: %w", err)
	}
	if s.Version > version {
		return fmt.Errorf("%w: version %d, this one knows %d", ErrNewer, s.Version, version)
	}
	if err := s.check(); err != nil {
		return fmt.Errorf("camera model is damaged: %w", err)
	}
	*m = Model{
		Kind: s.Kind, Degree: s.Degree, Space: s.Space, Curve: s.Curve, Coef: s.Coef, Patches: s.Patches, Error: s.Error,
		Candidates: s.Candidates, Errors: s.Errors, LeftOut: s.LeftOut, Cut: s.Cut, Learnt: s.Learnt,
	}
	return nil
}

func (s *stored) check() error {
	degrees := map[Kind][2]int{Gains: {0, 0}, Matrix: {1, 1}, RootPolynomial: {2, 3}}
	d, ok := degrees[s.Kind]
	switch {
	case s.Version < 1:
		return fmt.Errorf("version %d", s.Version)
	case !ok:
		return fmt.Errorf("kind %.40q", s.Kind)
	case s.Degree < d[0] || s.Degree > d[1]:
		return fmt.Errorf("degree %d of a model of kind %s", s.Degree, s.Kind)
	case s.Space != cie.SRGB.Name && s.Space != cie.DisplayP3.Name:
		return fmt.Errorf("space %.40q", s.Space)
	case len(s.Curve) > 8:
		return fmt.Errorf("a curve of %d numbers", len(s.Curve))
	case s.Patches < 0:
		return fmt.Errorf("%d patches", s.Patches)
	}
	for _, v := range s.Curve {
		if !(math.Abs(v) <= largest) {
			return fmt.Errorf("a curve with %g", v)
		}
	}
	if !curve(s.Curve).rises() {
		return errors.New("a curve that falls")
	}
	for c, row := range s.Coef {
		if len(row) != termCount(s.Degree) {
			return fmt.Errorf("%d coefficients, want %d", len(row), termCount(s.Degree))
		}
		for k, v := range row {
			if !(math.Abs(v) <= largest) || k == c && v != 0 {
				return fmt.Errorf("coefficient %d of channel %d is %g", k, c, v)
			}
		}
	}
	for _, v := range []float64{s.Error.Mean, s.Error.Median, s.Error.RMS, s.Error.Worst} {
		if !(v >= 0 && v <= 1000) {
			return fmt.Errorf("an error of %g", v)
		}
	}
	return nil
}
