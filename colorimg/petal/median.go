package petal

// middle is the median, the mean of the two middle values of an even number;
// 0 for none. v is reordered.
func middle(v []float64) float64 {
	n := len(v)
	if n == 0 {
		return 0
	}
	hi := nth(v, n/2)
	if n%2 == 1 {
		return hi
	}
	lo := v[0] // nth has left the smaller values in front
	for _, x := range v[1 : n/2] {
		lo = max(lo, x)
	}
	return (lo + hi) / 2
}

// middleThird is the mean of the middle third of the values, one at least; 0
// for none. v is reordered.
func middleThird(v []float64) float64 {
	n := len(v)
	if n < 3 {
		return middle(v)
	}
	lo := n / 3
	hi := n - lo
	nth(v, lo)
	nth(v[lo:], hi-lo-1)
	sum := 0.0
	for _, x := range v[lo:hi] {
		sum += x
	}
	return sum / float64(hi-lo)
}

// nth is the value that would be v[k] were v sorted. v is reordered so that no
// value before place k is larger and none after it is smaller.
//
// Source: Hoare 1961, Algorithm 65 (find), with the middle of three as pivot.
func nth(v []float64, k int) float64 {
	lo, hi := 0, len(v)-1
	for lo < hi {
		p := midOfThree(v[lo], v[(lo+hi)/2], v[hi])
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

func midOfThree(a, b, c float64) float64 { return max(min(a, b), min(max(a, b), c)) }
