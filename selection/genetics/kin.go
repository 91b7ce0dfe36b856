package genetics

// FullSibs reports whether two plants x and y, each given by its two parents, share both parents, whichever
// bore the seed: for A × B and B × A it is true. Parents may be ids, places or database rows; unknown is
// the value of an unknown parent. A plant with an unknown parent has no full sibs.
//
// Source: Falconer and Mackay 1996, chapter 9: full sibs share both parents, half sibs one.
func FullSibs[T comparable](x, y [2]T, unknown T) bool {
	return x[0] != unknown && x[1] != unknown && (x == y || x[0] == y[1] && x[1] == y[0])
}

// FullSibs reports whether the plants at two places share both parents; unknown parents are not shared.
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

// Family returns the ids of the plants whose parents are the two named, whichever bore the seed, in the order of the
// list. For the selfs of a plant, give its id twice.
func Family(plants []Parents, parent, other string) []string {
	var ids []string
	for _, p := range plants {
		if FullSibs([2]string{p.Seed, p.Pollen}, [2]string{parent, other}, "") {
			ids = append(ids, p.ID)
		}
	}
	return ids
}

// Before reports whether season x is before season y, by their names: both must begin with numbers
// of the same number of digits, such as "2026" or "2026-27". For other names it is false.
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
