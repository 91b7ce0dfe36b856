package genetics

import "gonum.org/v1/gonum/mat"

// absorbed are ancestors without records whose own ancestors have none either. The likelihood
// does not need their breeding values, only the relationships that they cause among their
// descendants: one quadratic form replaces the pedigree's terms of these plants.
//
// The boundary is the plants with an absorbed parent. Their breeding values, less half of each
// kept parent's and less the groups' share, are W u, with covariance C times G.
//
// Source: C from the pedigree itself, as in Colleau 2002, Genet. Sel. Evol. 34:409.
type absorbed struct {
	gone     []bool        // by place: it is absorbed
	boundary []bool        // by place
	rows     int           // number of plants of the boundary
	nodes    []int32       // the places that W is about
	m        *mat.SymDense // W'C⁻¹W, nodes × nodes
}

// Limits within which absorbing saves time, as the form is dense in the boundary.
const (
	mostBoundary  = 1500
	leastAbsorbed = 30
)

// absorb finds the ancestors to absorb; nil: too few to be worth it, or too large a boundary.
func absorb(ped *Pedigree, rec *Records) *absorbed {
	n := ped.Len()
	kept := make([]bool, n)
	for i := range ped.groups {
		kept[i] = true
	}
	for _, at := range rec.Plant {
		kept[at] = true
		for _, parent := range [2]int32{ped.seed[at], ped.pollen[at]} {
			if parent != Unknown {
				kept[parent] = true
			}
		}
	}
	a := &absorbed{gone: make([]bool, n), boundary: make([]bool, n)}
	var gone, edge []int32
	for i := int32(ped.groups); int(i) < n; i++ {
		s, p := ped.seed[i], ped.pollen[i]
		all := !kept[i]
		some := false
		for _, parent := range [2]int32{s, p} {
			if parent != Unknown && int(parent) >= ped.groups {
				all = all && a.gone[parent]
				some = some || a.gone[parent]
			}
		}
		switch {
		case all:
			a.gone[i] = true
			gone = append(gone, i)
		case some:
			a.boundary[i] = true
			edge = append(edge, i)
		}
	}
	a.rows = len(edge)
	if a.rows == 0 || len(gone) < leastAbsorbed || a.rows > mostBoundary || a.rows > len(gone) {
		return nil
	}
	return a.fill(ped, gone, edge)
}

// fill works out the quadratic form; nil when it cannot be inverted.
func (a *absorbed) fill(ped *Pedigree, gone, edge []int32) *absorbed {
	column := map[int32]int{} // of nodes
	at := func(i int32) int {
		c, ok := column[i]
		if !ok {
			c = len(a.nodes)
			column[i] = c
			a.nodes = append(a.nodes, i)
		}
		return c
	}
	for _, b := range edge {
		at(b)
		for _, parent := range [2]int32{ped.seed[b], ped.pollen[b]} {
			if parent != Unknown && !a.gone[parent] {
				at(parent)
			}
		}
	}
	for g := range ped.groups {
		at(int32(g))
	}
	c := mat.NewSymDense(a.rows, nil)
	w := mat.NewDense(a.rows, len(a.nodes), nil)
	x := make([]float64, ped.Len())
	for r, b := range edge {
		clear(x)
		w.Set(r, at(b), 1)
		share := func(i int32, s float64) { // passes the share s of place i on to its parents
			for _, parent := range [2]int32{ped.seed[i], ped.pollen[i]} {
				switch {
				case parent == Unknown:
				case a.gone[parent]:
					x[parent] += s / 2
				default:
					w.Set(r, at(parent), w.At(r, at(parent))-s/2)
				}
			}
		}
		share(b, 1)
		for k := len(gone) - 1; k >= 0; k-- { // offspring before parents
			if i := gone[k]; x[i] != 0 {
				share(i, x[i])
			}
		}
		for _, i := range gone { // parents before offspring
			x[i] *= max(ped.d[i], least)
			for _, parent := range [2]int32{ped.seed[i], ped.pollen[i]} {
				if parent != Unknown && a.gone[parent] {
					x[i] += x[parent] / 2
				}
			}
		}
		for q, o := range edge[:r+1] {
			s := 0.0
			if q == r {
				s = max(ped.d[b], least)
			}
			for _, parent := range [2]int32{ped.seed[o], ped.pollen[o]} {
				if parent != Unknown && a.gone[parent] {
					s += x[parent] / 2
				}
			}
			c.SetSym(r, q, s)
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(c) {
		return nil
	}
	var cw, m mat.Dense
	if chol.SolveTo(&cw, w) != nil {
		return nil
	}
	m.Mul(w.T(), &cw)
	a.m = mat.NewSymDense(len(a.nodes), nil)
	for i := range a.nodes {
		for j := range i + 1 {
			a.m.SetSym(i, j, (m.At(i, j)+m.At(j, i))/2)
		}
	}
	return a
}
