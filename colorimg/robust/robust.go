// Package robust has statistics that outliers hardly influence: the median and
// similar ones, found by selection instead of sorting. Start with [Median].
//
// All of them reorder the values they are given. [Least] fits by least squares.
package robust

// Number is a value that can be ordered and averaged.
type Number interface{ ~float32 | ~float64 }

// Median is the middle value, the mean of the two middle ones of an even number; 0 for none.
func Median[T Number](v []T) T {
	n := len(v)
	if n == 0 {
		return 0
	}
	hi := Nth(v, n/2)
	if n%2 == 1 {
		return hi
	}
	lo := v[0] // Nth has left the smaller values in front
	for _, x := range v[1 : n/2] {
		lo = max(lo, x)
	}
	return (lo + hi) / 2
}

// MiddleThird is the mean of the middle third of the values, one at least; 0
// for none. Unlike the median it does not snap to the steps of rounded values.
func MiddleThird[T Number](v []T) T {
	n := len(v)
	if n < 3 {
		return Median(v)
	}
	lo := n / 3
	hi := n - lo
	Nth(v, lo)
	Nth(v[lo:], hi-lo-1)
	var sum T
	for _, x := range v[lo:hi] {
		sum += x
	}
	return sum / T(hi-lo)
}

// Nth is the value that would be v[k] were v sorted. Afterwards no value before place k is larger and none after it is
// smaller. It panics when k is not a place of v.
//
// Source: Hoare 1961, Algorithm 65 (find), with the middle of three as pivot.
func Nth[T Number](v []T, k int) T {
	lo, hi := 0, len(v)-1
	for lo < hi {
		a, b, c := v[lo], v[(lo+hi)/2], v[hi]
		p := max(min(a, b), min(max(a, b), c))
		i, j := lo, hi
		for i <= j {
			for v[i] < p {
				i++
			}
			for v[j] > p {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return v[k]
		}
	}
	return v[k]
}
