package written

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Number reads a number with a decimal point or a decimal comma. The minus sign of
// printed tables (U+2212) is accepted, too. The error is one line and quotes s.
func Number(s string) (float64, error) {
	t := strings.Replace(strings.TrimSpace(s), "\u2212", "-", 1)
	if strings.IndexByte(t, ',') >= 0 && strings.IndexByte(t, '.') < 0 {
		t = strings.Replace(t, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(t, 64)
	// ParseFloat accepts "inf", "nan", "0x1p4" and "1_000", too.
	if err != nil || math.IsInf(v, 0) || math.IsNaN(v) || strings.Trim(t, "0123456789.+-eE") != "" {
		return 0, fmt.Errorf("%s is not a number", quote(s))
	}
	return v, nil
}

// Numbers reads several numbers, separated by commas; or by semicolons or spaces, and
// then with a decimal point or comma. The error is that of [Number].
func Numbers(s string) ([]float64, error) {
	var out []float64
	for _, p := range split(s) {
		v, err := Number(p)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

// split splits a list of numbers.
func split(s string) []string {
	if strings.Contains(s, ";") {
		return strings.Split(s, ";")
	}
	f := strings.Fields(s)
	for _, p := range f {
		if len(f) == 1 || strings.HasPrefix(p, ",") || strings.HasSuffix(p, ",") {
			return strings.Split(s, ",")
		}
	}
	return f
}

// quote returns the first 40 characters of s, in quotes.
func quote(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return strconv.Quote(s)
}

// Ordinal returns n as 1st, 2nd, 3rd …
func Ordinal(n int) string {
	suffix := "th"
	if n%100 < 11 || n%100 > 13 {
		switch n % 10 {
		case 1:
			suffix = "st"
		case 2:
			suffix = "nd"
		case 3:
			suffix = "rd"
		}
	}
	return fmt.Sprintf("%d%s", n, suffix)
}

// List joins s as in "a, b and c".
func List(s []string) string {
	if n := len(s) - 1; n > 0 {
		return strings.Join(s[:n], ", ") + " and " + s[n]
	}
	return strings.Join(s, "")
}
