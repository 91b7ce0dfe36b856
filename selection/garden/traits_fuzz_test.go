package garden_test

import (
	"math"
	"strings"
	"testing"

	"hueward/colorimg/must"
	"hueward/selection/book"
	"hueward/selection/book/booktest"
	"hueward/selection/garden"
)

// Whatever is typed as --must or --weigh is a limit or a weight that a ranking can use, or
// one line.
func FuzzTraits(f *testing.F) {
	b := booktest.Filled(f)
	must.OK(f, b.SetScores(f.Context(), book.Score{Plant: "M-1", Trait: "form", Value: 4, On: booktest.Noon}))
	for _, s := range [][2]string{{"form>=3", "form=0.5"}, {"form<=double", "form=0,5"}, {"form>=", "form="}, {">=3", "=1"}, {"form>3",
		"form=nan"},
		{"form>=1e999", "form=-1"}, {"form>=3>=4", "form=0x1p4"}, {"\xff>=1", "\x00=1"}, {"form\n>=3", "form=1\n"}} {
		f.Add(s[0], s[1])
	}
	f.Fuzz(func(t *testing.T, must, weigh string) {
		for _, typed := range [][2][]string{{{must}, nil}, {nil, {weigh}}, {{must}, {weigh}}} {
			found, _, err := garden.Traits(t.Context(), b, typed[0], typed[1])
			if err != nil {
				if strings.ContainsAny(err.Error(), "\n\r\x1b") || strings.Contains(err.Error(), "strconv") {
					t.Errorf("%q: %q", typed, err)
				}
				continue
			}
			if len(found) == 0 {
				t.Errorf("%q: nothing, and no error", typed)
			}
			for _, tr := range found {
				for _, limit := range [2]*float64{tr.Least, tr.Most} {
					if limit != nil && (math.IsNaN(*limit) || math.IsInf(*limit, 0)) {
						t.Errorf("%q: the limit %v", typed, *limit)
					}
				}
				if !(tr.Weight >= 0 && tr.Weight <= 20) {
					t.Errorf("%q: the weight %v", typed, tr.Weight)
				}
			}
		}
	})
}
