package written

import (
	"fmt"
	"strings"
)

// Ordinal is 1st, 2nd, 3rd …
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

// List is "a, b and c".
func List(s []string) string {
	if n := len(s) - 1; n > 0 {
		return strings.Join(s[:n], ", ") + " and " + s[n]
	}
	return strings.Join(s, "")
}
