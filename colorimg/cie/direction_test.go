package cie

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func lch(l, c, h float64) Lab { return LCh{L: l, C: c, H: h}.Lab() }

// The words that a grower would use for clear cases round the hue circle.
// Common practice, no source.
func TestDirectionWords(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name      string
		x, target Lab
		want      string
	}{
		{"same", lch(70, 40, 60), lch(70, 40, 60), "on target"},
		{"below notice", lch(70.2, 40.3, 60.2), lch(70, 40, 60), "on target"},
		{"a little dark", lch(68.6, 40, 60), lch(70, 40, 60), "slightly darker"},
		{"dark", lch(65, 40, 60), lch(70, 40, 60), "darker"},
		{"very dark", lch(50, 40, 60), lch(70, 40, 60), "much darker"},
		{"light", lch(80, 40, 60), lch(75, 40, 60), "lighter"},
		{"vivid", lch(70, 50, 60), lch(70, 40, 60), "more vivid"},
		{"dull", lch(70, 22, 60), lch(70, 40, 60), "much duller"},

		// Hue, both ways round from each of the four and between them.
		{"crimson to scarlet", lch(45, 60, 32), lch(45, 60, 24), "yellower"},
		{"scarlet to crimson", lch(45, 60, 30), lch(45, 60, 38), "redder"},
		{"apricot toward pink", lch(75, 40, 54), lch(75, 40, 62), "pinker"},
		{"apricot toward yellow", lch(75, 40, 70), lch(75, 40, 62), "yellower"},
		{"yellow toward orange", lch(80, 70, 84), lch(80, 70, 90), "more orange"},
		{"yellow toward green", lch(85, 60, 104), lch(85, 60, 97), "greener"},
		{"lime toward yellow", lch(85, 60, 103), lch(85, 60, 110), "yellower"},
		{"green toward blue", lch(60, 40, 175), lch(60, 40, 165), "bluer"},
		{"teal toward green", lch(60, 40, 190), lch(60, 40, 200), "greener"},
		{"blue toward violet", lch(50, 50, 285), lch(50, 50, 265), "much redder"},
		{"violet toward blue", lch(50, 50, 285), lch(50, 50, 305), "much bluer"},
		{"mauve toward pink", lch(70, 35, 340), lch(70, 35, 325), "pinker"},
		{"pink across zero", lch(70, 35, 4), lch(70, 35, 352), "pinker"},
		{"pink back across zero", lch(70, 35, 350), lch(70, 35, 5), "bluer"},

		{"pale pink for apricot", lch(81, 29, 55), lch(74, 30, 65), "lighter and pinker"},
		{"dull yellow for apricot", lch(74, 14, 100), lch(74, 45, 62), "much yellower and duller"},
		{"dark with a hint", lch(50, 40, 63), lch(70, 40, 60), "much darker"},

		// Near neutral.
		{"cream for white", lch(95, 14, 95), lch(96, 2, 100), "much yellower"},
		{"blush for white", lch(90, 12, 10), lch(95, 2, 90), "darker and much pinker"},
		{"ice for white", lch(92, 4, 250), lch(93, 1, 100), "bluer"},
		{"white for cream", lch(96, 3, 95), lch(94, 18, 92), "much whiter"},
		{"grey for blue", lch(50, 2, 40), lch(50, 30, 270), "much greyer"},
		{"black for crimson", lch(15, 3, 10), lch(16, 40, 20), "much blacker"},
		{"white for white", lch(96, 0.4, 20), lch(96, 0.5, 200), "slightly pinker"},

		{"blue for yellow", lch(50, 50, 270), lch(80, 70, 90), "much bluer and darker"},
	} {
		got := Direction(c.x, c.target)
		if got != c.want {
			t.Errorf("%s: Direction = %q, want %q (parts %+.1f)", c.name, got, c.want, Compare(c.target, c.x))
		}
	}
}

// Whatever the two colours, something readable comes out: lightness is never
// said the wrong way round, nothing is said twice, and a plain difference in
// lightness says nothing of hue.
func TestDirectionSane(t *testing.T) {
	t.Parallel()
	color := rapid.Custom(func(t *rapid.T) Lab {
		return lch(rapid.Float64Range(0, 100).Draw(t, "L"), rapid.Float64Range(0, 110).Draw(t, "C"), rapid.Float64Range(0, 359.9).Draw(t, "h"))
	})
	rapid.Check(t, func(t *rapid.T) {
		x, y := color.Draw(t, "x"), color.Draw(t, "target")
		got := Direction(x, y)
		if got == "" {
			t.Fatal("no words")
		}
		if strings.Contains(got, "darker") && x.L >= y.L || strings.Contains(got, "lighter") && x.L <= y.L {
			t.Fatalf("Direction(%v, %v) = %q: lightness the wrong way round", x, y, got)
		}
		if got == OnTarget && DeltaE2000(x, y) > 1 {
			t.Fatalf("Direction(%v, %v) = %q at Delta E %.2f", x, y, got, DeltaE2000(x, y))
		}
		seen := map[string]bool{}
		for _, w := range strings.Fields(strings.ReplaceAll(got, ",", "")) {
			if strings.HasSuffix(w, "er") && seen[w] {
				t.Fatalf("Direction(%v, %v) = %q says %q twice", x, y, got, w)
			}
			seen[w] = true
		}
		y = x
		y.L = 100 - x.L
		switch got := Direction(x, y); got {
		case OnTarget, "darker", "lighter", "much darker", "much lighter", "slightly darker", "slightly lighter":
		default:
			t.Fatalf("Direction(%v, %v) = %q, want lightness alone", x, y, got)
		}
	})
}
