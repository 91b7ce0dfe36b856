package naming

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"hueward/selection/written"
)

// Names that the book makes are short enough to say and to write on a tag: the season's last two digits, a number, and
// a check letter, as 26-014H of a plant, X26-003D of a cross, P26-003S of a packet, S27-002T of a sowing, L26-001X of
// stored pollen. A head is the plant's name with -1, -2, … The letter may be left out when a name is typed; where it is
// typed, it must fit.

// ErrMistyped is returned if the check letter does not fit the number.
var ErrMistyped = errors.New("the last letter does not fit the number; look at the tag again")

// checkLetters are 23, a prime, without those that look like a digit or another: I, O, U.
const checkLetters = "ABCDEFGHJKLMNPQRSTVWXYZ"

// CheckLetter returns the letter that guards a made name against mistyping: one wrong
// digit, or two neighbours swapped, always give another letter.
//
// Source: a weighted sum modulo a prime, as in ISBN-10; weights and letters are our own.
func CheckLetter(name string) byte {
	sum, weight := 0, 2
	for i := len(name) - 1; i >= 0; i-- {
		c := name[i]
		switch {
		case c >= '0' && c <= '9':
			sum += weight * int(c-'0')
		case c >= 'A' && c <= 'Z':
			sum += weight * int(c-'A'+10)
		default:
			continue // dashes carry nothing
		}
		weight++
	}
	return checkLetters[sum%len(checkLetters)]
}

// Made matches a name made by the book, with or without its check letter.
var Made = written.Pattern(`^([XPSL]?)([0-9]{1,4})-([0-9]{3,6})([A-HJ-NP-TV-Z]?)$`)

// ShortSeason returns the part of a season's name that goes into names made in it: 26
// for 2026; for others their digits, at most four; 0 if there are none.
func ShortSeason(season string) string {
	d := strings.Map(func(r rune) rune {
		if r >= '0' && r <= '9' {
			return r
		}
		return -1
	}, season)
	switch {
	case d == "":
		return "0"
	case len(d) == 4:
		return d[2:]
	}
	return d[:min(len(d), 4)]
}

// LastNumber splits an id into its last number n and what stands before it, stem; a check letter after it is dropped.
func LastNumber(id string) (stem string, n int, ok bool) {
	id = strings.TrimSpace(id)
	if m := Made().FindStringSubmatch(strings.ToUpper(id)); m != nil && m[4] != "" {
		id = id[:len(id)-1]
	}
	stem = strings.TrimRight(id, "0123456789")
	n, err := strconv.Atoi(id[len(stem):])
	return stem, n, err == nil
}

// mostSpread is the largest accepted number of names in one range, against mistyping: our own choice.
const mostSpread = 5000

// Spread expands ranges such as M-30..M-61, or M-30..61, into the names of new plants;
// numbers keep their width. Anything else stays as it is.
func Spread(typed []string) ([]string, error) {
	var out []string
	for _, t := range typed {
		from, to, isRange := strings.Cut(strings.TrimSpace(t), "..")
		if !isRange {
			out = append(out, from)
			continue
		}
		stem := strings.TrimRight(from, "0123456789")
		digits := from[len(stem):]
		if len(to) >= len(stem) && Key(to[:len(stem)]) == Key(stem) {
			to = to[len(stem):]
		}
		low, err1 := strconv.Atoi(digits)
		high, err2 := strconv.Atoi(to)
		if err1 != nil || err2 != nil || high < low || high-low >= mostSpread {
			return nil, fmt.Errorf("%q: want ids, or a range such as M-30..M-61", t)
		}
		for n := low; n <= high; n++ {
			out = append(out, fmt.Sprintf("%s%0*d", stem, len(digits), n))
		}
	}
	return out, nil
}
