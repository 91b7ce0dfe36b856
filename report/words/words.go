// Package words writes numbers, counts, chances and days the one way in which commands, reports and pages show them.
package words

import (
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
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

// Count is "1 seed" or "3 seeds", "2 crosses", "2 entries".
func Count(n int, what string) string {
	switch stem, y := strings.CutSuffix(what, "ry"); {
	case n == 1:
	case y:
		what = stem + "ries"
	case strings.HasSuffix(what, "s"), strings.HasSuffix(what, "ch"):
		what += "es"
	default:
		what += "s"
	}
	return strconv.Itoa(n) + " " + what
}

// Sentence begins with a capital and ends with a point, or a question mark.
func Sentence(s string) string {
	if s == "" {
		return s
	}
	_, n := utf8.DecodeRuneInString(s)
	s = strings.ToUpper(s[:n]) + s[n:]
	if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
		s += "."
	}
	return s
}

// Joined are those of the parts that say something, with sep between them.
func Joined(sep string, parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), sep)
}

// Each is what say says of each of the list.
func Each[T any](list []T, say func(T) string) (said []string) {
	for _, x := range list {
		said = append(said, say(x))
	}
	return said
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
