package genetics

// FullSibs reports whether two plants share both parents, whichever of them bore the seed:
// of X = A × B and Y = B × A the answer is yes. Parents are named by whatever the caller has:
// ids, places or rows; a plant with an unknown parent is nobody's full sib.
//
// Source: Falconer and Mackay 1996, chapter 9: full sibs share both parents, half sibs one.
func FullSibs[T comparable](x, y [2]T, unknown T) bool {
	return x[0] != unknown && x[1] != unknown && (x == y || x[0] == y[1] && x[1] == y[0])
}

// FullSibs reports whether the plants at two places share both parents, which are known.
func (p *Pedigree) FullSibs(x, y int32) bool {
	of := func(at int32) [2]int32 {
		both := [2]int32{p.seed[at], p.pollen[at]}
		for i := range both {
			if both[i] < int32(p.groups) { // a group stands for a parent that is not known
				both[i] = Unknown
			}
		}
		return both
	}
	return FullSibs(of(x), of(y), Unknown)
}

// Family returns the ids of the plants of one family of full sibs, in the order of the list: those whose parents are
// the two named, whichever bore the seed. The same id twice is for the selfs of a plant.
func Family(plants []Parents, parent, other string) []string {
	var ids []string
	for _, p := range plants {
		if FullSibs([2]string{p.Seed, p.Pollen}, [2]string{parent, other}, "") {
			ids = append(ids, p.ID)
		}
	}
	return ids
}

// Before reports whether season x is before season y, where their names tell: both begin with
// a number of as many digits, such as "2026" or "2026-27". Of others it says no.
func Before(x, y string) bool {
	digits := func(s string) int {
		n := 0
		for n < len(s) && s[n] >= '0' && s[n] <= '9' {
			n++
		}
		return n
	}
	n := digits(x)
	return n > 0 && n == digits(y) && x[:n] < y[:n]
}
