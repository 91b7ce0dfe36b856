// Package scenes holds the sets of made-up photos that tests measure: [Varied], fair photos; [Hard], photos in bad
// light; and [Awkward], blooms that are not alone or no longer fresh. Each is a function of a number and a seed.
//
// It is for tests, of this module's packages only; nothing of the program imports it.
package scenes

import (
	"os"

	"gonum.org/v1/gonum/stat/distuv"
)

// Full reports whether the large samples are asked for, by HUEWARD_FULL=1.
func Full() bool { return os.Getenv("HUEWARD_FULL") != "" }

// Count is the size of a sample: few as a rule, many with HUEWARD_FULL=1.
func Count(few, many int) int {
	if Full() {
		return many
	}
	return few
}

// unlikely is how rarely a sample may be as extreme as the one at hand.
const unlikely = 0.01

// AtLeast reports whether k of n can be a sample of a share of p or more: as few as k must not come by chance less
// often than once in a hundred. No sample at all supports nothing.
func AtLeast(k, n int, p float64) bool {
	return n > 0 && distuv.Binomial{N: float64(n), P: p}.CDF(float64(k)) > unlikely
}

// AtMost reports whether k of n can be a sample of a share of p or less.
func AtMost(k, n int, p float64) bool { return AtLeast(n-k, n, 1-p) }
