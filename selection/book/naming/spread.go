package naming

import (
	"fmt"
	"strconv"
	"strings"
)

// mostSpread is the most names that one range is believed to mean.
const mostSpread = 5000

// Spread spreads ranges such as M-30..M-61, or M-30..61, into the names of plants that
// are new; the number keeps its width. Anything else stays as it is.
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
