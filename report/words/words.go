// Package words writes numbers, counts, chances and days the one way in which
// commands, reports and pages show them.
package words

import (
	"strconv"
	"time"
)

// Fixed is v with the given decimals, with a point whatever the country.
func Fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if f, err := strconv.ParseFloat(s, 64); err == nil && f == 0 && s[0] == '-' {
		return s[1:] // no "-0.0"
	}
	return s
}

// Chance is a probability without any claim of certainty.
func Chance(p float64) string {
	switch {
	case p < 0.01:
		return "< 1 %"
	case p > 0.99:
		return "> 99 %"
	}
	return Percent(p)
}

// Percent is a share of 1 as whole percent.
func Percent(share float64) string { return Fixed(100*share, 0) + " %" }

// Count is "1 seed" or "3 seeds".
func Count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// Number is a count, or nothing when nobody counted.
func Number(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

// Day is the day, or nothing when it was not said.
func Day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}
