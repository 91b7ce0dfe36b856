// Package words writes numbers, counts, chances and days in the same way for commands, reports and pages. Start with
// [Fixed], [Count] and [Chance].
package words

import (
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Fixed returns v with the given decimals and a decimal point.
func Fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if f, err := strconv.ParseFloat(s, 64); err == nil && f == 0 && s[0] == '-' {
		return s[1:] // no "-0.0"
	}
	return s
}

// Chance returns a probability as a percentage, never 0 or 100 %, as no chance is certain.
func Chance(p float64) string {
	switch {
	case p < 0.01:
		return "< 1 %"
	case p > 0.99:
		return "> 99 %"
	}
	return Percent(p)
}

// Percent returns a share of 1 as a whole percentage.
func Percent(share float64) string { return Fixed(100*share, 0) + " %" }

// Count returns a number with a noun in singular or plural: "1 seed", "3 seeds", "2 crosses", "2 entries".
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

// Sentence returns s with a capital letter at its beginning and a full stop, or its question mark, at its end.
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

// Joined joins the parts that are not empty, with sep between them.
func Joined(sep string, parts ...string) string {
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), sep)
}

// Each returns say of each element of the list.
func Each[T any](list []T, say func(T) string) (said []string) {
	for _, x := range list {
		said = append(said, say(x))
	}
	return said
}

// Number returns a count as text; nil: "".
func Number(n *int) string {
	if n == nil {
		return ""
	}
	return strconv.Itoa(*n)
}

// Day returns the day as 2006-01-02; zero: "".
func Day(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format(time.DateOnly)
}
