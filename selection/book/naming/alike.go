package naming

import (
	"strings"

	"hueward/selection/written"
)

var (
	letterO   = written.Pattern(`(^|[^\pL\pN])o([0-9])`)
	zeros     = written.Pattern(`(^|[^0-9])0+([0-9])`)
	between   = written.Pattern(`([0-9])[-_. ]+([0-9])`)
	separator = written.Pattern(`[-_. ]+`)
)

// Alike is a key that names share which are easily taken for each other: it knows no
// case, no dashes but between numbers, no zeros before a number, and no letter O in their
// place. M-06, m06, M-6, M.6 and M-O6 are alike; M-16 and M-1-6 are not.
func Alike(name string) string {
	s := letterO().ReplaceAllString(strings.ToLower(name), "${1}0$2")
	s = zeros().ReplaceAllString(s, "$1$2")
	s = between().ReplaceAllString(s, "$1\x00$2")
	s = between().ReplaceAllString(s, "$1\x00$2") // 1-2-3: the matches overlap
	return strings.ReplaceAll(separator().ReplaceAllString(s, ""), "\x00", "-")
}
