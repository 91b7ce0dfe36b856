package written

import (
	"cmp"
	"strings"
	"unicode/utf8"
)

// CompareIDs compares plant ids in natural order: runs of digits by their numbers, so that "M-9" comes before "M-10", and
// letters without regard to case. Ids that differ only in case or in leading zeros are compared by their bytes, so that
// only identical ids give 0. It is meant for [slices.SortFunc].
func CompareIDs(x, y string) int {
	a, b := folded(x), folded(y)
	for a != "" && b != "" {
		da, db := digits(a), digits(b)
		if da > 0 && db > 0 {
			na, nb := strings.TrimLeft(a[:da], "0"), strings.TrimLeft(b[:db], "0")
			if c := cmp.Or(cmp.Compare(len(na), len(nb)), strings.Compare(na, nb)); c != 0 {
				return c
			}
			a, b = a[da:], b[db:]
			continue
		}
		if p, q := lower(a[0]), lower(b[0]); p != q {
			return cmp.Compare(p, q)
		}
		a, b = a[1:], b[1:]
	}
	return cmp.Or(cmp.Compare(len(a), len(b)), strings.Compare(x, y))
}

// SortKey returns a string for an id; such strings compare, byte by byte, as [CompareIDs] compares
// the ids. It saves time where tens of thousands are sorted.
func SortKey(id string) string {
	a := folded(id)
	b := make([]byte, 0, len(a)+len(id)+8)
	for a != "" {
		if d := digits(a); d > 0 {
			n := strings.TrimLeft(a[:d], "0")
			b = append(b, '0', byte(min(len(n), 255)))
			b = append(b, n...)
			a = a[d:]
			continue
		}
		b = append(b, lower(a[0]))
		a = a[1:]
	}
	b = append(b, 0)
	return string(append(b, id...))
}

// folded returns s in lower case where it has letters beyond ASCII; ASCII letters are left to lower,
// which is faster where tens of thousands of ids are sorted.
func folded(s string) string {
	for i := range len(s) {
		if s[i] >= utf8.RuneSelf {
			return strings.ToLower(s)
		}
	}
	return s
}

// lower returns an ASCII letter in lower case.
func lower(c byte) byte {
	if c >= 'A' && c <= 'Z' {
		c += 'a' - 'A'
	}
	return c
}

// digits returns the length of the run of ASCII digits that s begins with.
func digits(s string) int {
	n := 0
	for n < len(s) && s[n] >= '0' && s[n] <= '9' {
		n++
	}
	return n
}
