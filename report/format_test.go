package report

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"testing"

	"hueward/colorimg/cie"
)

func TestNumbers(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{number(2.349, 1), "2.3"},
		{number(-12, 0), "−12"},
		{number(-0.04, 1), "0.0"},
		{number(math.NaN(), 1), "–"},
		{number(math.Inf(1), 1), "–"},
		{px(-0.04).String(), "0"},
		{px(12).String(), "12"},
		{px(12.34).String(), "12.3"},
		{labText(cie.Lab{L: 76, A: -1.25, B: 36}), "76.0, −1.2, 36.0"},
		{chance(0.5), "50\u00a0%"},
		{chance(0.999), "over\u00a099\u00a0%"},
		{chance(0), "under\u00a01\u00a0%"},
		{chance(math.NaN()), ""},
		{interval(0, 0), ""},
		{interval(0, 1.26), "0.0 to 1.3"},
		{baseName("a/b c/d.jpg"), "d.jpg"},
		{baseName(`C:\garden\d.jpg`), "d.jpg"},
		{baseName("d.jpg"), "d.jpg"},
		{ink("#A0b1c2"), "#A0b1c2"},
		{ink("red"), "none"},
		{ink("#a0b1c2;"), "none"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

// Every ink of text can be read on every ground it stands on: contrast at
// least 4.5 by WCAG 2 (relative luminance and (L1 + 0.05)/(L2 + 0.05), from
// memory).
func TestContrast(t *testing.T) {
	css, err := os.ReadFile("templates/season.css")
	check(t, err)
	luminance := func(name string) float64 {
		m := regexp.MustCompile(`--` + name + `: #([0-9a-f]{2})([0-9a-f]{2})([0-9a-f]{2});`).FindStringSubmatch(string(css))
		if m == nil {
			t.Fatalf("season.css does not set --%s", name)
		}
		sum := 0.0
		for i, k := range []float64{0.2126, 0.7152, 0.0722} {
			var v int
			fmt.Sscanf(m[i+1], "%x", &v)
			sum += k * cie.Linear(float64(v)/255)
		}
		return sum
	}
	paper := luminance("paper")
	for _, name := range []string{"ink", "soft", "accent"} {
		if got := (paper + 0.05) / (luminance(name) + 0.05); got < 4.5 {
			t.Errorf("contrast of %s on paper = %.2f, want at least 4.5", name, got)
		}
	}
}
