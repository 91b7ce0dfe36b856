package find

import (
	"strings"
	"testing"
	"unicode"

	"pgregory.net/rapid"
)

// Spellings of German names with and without marks: DIN 5007-2, the order of a telephone
// book, from memory. The rest is common practice, no source.
func TestHas(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, typed string
		want        bool
	}{
		{"X26-015D", "26-15", true}, {"X26-015D", "x26-015", true}, {"X26-105D", "26-15", false}, {"M-07", "m-7", true}, {"M-07", "7", true},
		{"P26-003S", "26-3", true}, {"M-70", "m-7", true}, {"M-07", "m-70", false}, {"M-100", "m-100", true}, {"M-10", "m-100", false},
		{"Müller-3", "mueller", true}, {"Müller-3", "muller", true}, {"Müller-3", "MÜLLER", true}, {"Mueller-3", "müller", true},
		{"Mueller-3", "muller", true}, {"Muller-3", "müller", true}, {"Mu\u0308ller-3", "müller", true}, {"Weiß-1", "weiss", true},
		{"Café-2", "cafe", true}, {"Blue-1", "blue", true}, {"Blue-1", "e-1", true}, {"Maerz-1", "erz", true}, {"anything", "", true},
		{"anything", "  ", true}, {"Rose", "rosa", false},
	} {
		if got := Has(c.name, c.typed); got != c.want {
			t.Errorf("Has(%q, %q) = %v, want %v", c.name, c.typed, got, c.want)
		}
	}
}

// A part of a name is found in it, in any case; of an ASCII name without zeros exactly where it stands.
func TestHasPart(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.StringMatching(`[A-Za-z1-9._-]{1,20}`).Draw(t, "name")
		i := rapid.IntRange(0, len(name)).Draw(t, "from")
		j := rapid.IntRange(i, len(name)).Draw(t, "to")
		part := []rune(name[i:j])
		for k, r := range part {
			if k%2 == 0 {
				part[k] = unicode.ToUpper(r)
			}
		}
		if !Has(name, string(part)) {
			t.Errorf("%q is not found in %q", string(part), name)
		}
		if Has(name, "=") || Has(name, strings.Repeat("q", 21)) {
			t.Errorf("%q has what it has not", name)
		}
	})
}
