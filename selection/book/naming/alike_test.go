package naming

import "testing"

// Names as they are mistyped and misread. Common practice, no source.
func TestAlike(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"M-06", "m06", true}, {"M-1", "M-01", true}, {"M-06", "M_6", true}, {"M.6", "M-006", true}, {"M-O6", "M-06", true},
		{"26-014H", "26-14h", true}, {"1-2-3", "01_2.03", true}, {"Rose-1", "rose1", true}, {"0", "0", true}, {"M-0", "M0", true},
		{"M-16", "M-1-6", false}, {"M-06", "M-60", false}, {"26-014", "260-14", false}, {"M-0", "M", false}, {"1-2-3", "12-3", false},
		{"M-10", "M-1", false}, {"N-06", "M-06", false}, {"Mo1", "M01", false}, {"26-014H", "26-014L", false}, {"M-0", "M-00", true},
		// Cyrillic, Greek, full width, a ligature, and letters that look like none of ours. Source: Unicode Technical Standard 39.
		{"М-01", "M-01", true}, {"м-1", "M-01", true}, {"Ν-06", "N-06", true}, {"Ｍ-01", "M-01", true}, {"ﬁ1", "FI-1", true},
		{"М-О6", "M-06", true}, {"Ж-01", "M-01", false}, {"é-1", "e-1", false},
	} {
		if got := Alike(c.a) == Alike(c.b); got != c.want {
			t.Errorf("%s and %s alike: %v (%q, %q)", c.a, c.b, got, Alike(c.a), Alike(c.b))
		}
	}
}
