package words

import (
	"testing"
	"time"
)

func TestFixed(t *testing.T) {
	for _, test := range []struct {
		v        float64
		decimals int
		want     string
	}{{-0.04, 1, "0.0"}, {-0.06, 1, "-0.1"}, {76, 1, "76.0"}, {0.125, 0, "0"}} {
		if got := Fixed(test.v, test.decimals); got != test.want {
			t.Errorf("Fixed(%v, %d) = %q, want %q", test.v, test.decimals, got, test.want)
		}
	}
}

// No chance is ever certain, however near it comes.
func TestChance(t *testing.T) {
	for p, want := range map[float64]string{
		0: "< 1 %", 0.0099: "< 1 %", 0.01: "1 %", 0.5: "50 %", 0.874: "87 %", 0.99: "99 %", 0.9901: "> 99 %", 0.996: "> 99 %", 1: "> 99 %",
	} {
		if got := Chance(p); got != want {
			t.Errorf("Chance(%v) = %q, want %q", p, got, want)
		}
	}
}

func TestCounts(t *testing.T) {
	none := (*int)(nil)
	for got, want := range map[string]string{
		Count(0, "seed"): "0 seeds", Count(1, "seed"): "1 seed", Count(3, "seed"): "3 seeds",
		Count(2, "cross"): "2 crosses", Count(2, "patch"): "2 patches", Count(0, "entry"): "0 entries", Count(4, "day"): "4 days",
		Sentence("über it"): "Über it.", Sentence("Why?"): "Why?", Sentence(""): "", Joined(", ", "", "a", "", "b"): "a, b",
		Number(none): "", Number(new(0)): "0", Percent(0.125): "12 %",
		Day(time.Time{}): "", Day(time.Date(2026, 7, 4, 9, 0, 0, 0, time.UTC)): "2026-07-04",
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}
