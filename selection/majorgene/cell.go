package majorgene

import (
	"cmp"
	"math"
	"slices"

	"hueward/selection/genetics"
)

// Records are plants' colours in seasons.
type Records struct {
	Ped    *genetics.Pedigree
	Plant  []int32 // of each record, its plant's place in the pedigree
	Season []int32 // of each, its season, counted from 0
	Y      []v3    // colours
	Cov    []m3    // covariance of each record's own error; nil: not known
}

const (
	share    = 0.5 // of the variance between plants of a group that passes on, where families are weighed; a guess
	seasonSD = 1.5 // by which a season shifts a family's colours; a guess
	wideSD   = 50  // by which groups may differ
	guessSD  = 3   // of plants of a family, before any was measured
	guessN   = 4   // plants that the guess counts for
	leastSD  = 1   // by which plants scatter at least
)

// cell are the records of one family, or of one group's founders, in one season. What the many
// genes and the weather give them in common is normal around what their parents tell.
type cell struct {
	seed, pollen int32
	records      []int32
	prior, mean  v3
	priorCov     m3
	cov          m3
	priorInv     m3
	priorLog     float64
}

// line is a line's records, laid out once for all models.
type line struct {
	*Records
	net    *network
	groups int32
	cells  []cell
	d      []float64 // of each record, its plant's variance within the family over that of a group's founders
	extra  []float64 // of each record, by how much its own error adds to the usual scatter, over the guess
	grand  v3
	whole  m3     // covariance of all colours
	grown  []bool // of each group, whether a founder of it has a colour
}

func newLine(r *Records) *line {
	l := &line{Records: r, net: newNetwork(r.Ped), groups: int32(r.Ped.Groups())}
	l.grown = make([]bool, l.groups)
	at := map[[3]int32]int32{}
	var order []int32
	key := map[int32]int32{}
	for i, plant := range r.Plant {
		s, p := r.Ped.Parents(plant)
		k := [3]int32{min(s, p), max(s, p), r.Season[i]}
		c, ok := at[k]
		if !ok {
			c = int32(len(l.cells))
			at[k] = c
			l.cells = append(l.cells, cell{seed: k[0], pollen: k[1]})
			key[c] = k[1]
			if r.Ped.Founder(plant) {
				key[c], l.grown[s] = -1, true
			}
			order = append(order, c)
		}
		l.cells[c].records = append(l.cells[c].records, int32(i))
		l.d = append(l.d, 1-share+share*r.Ped.Mendelian(plant))
		l.grand = plus(l.grand, times(1/float64(len(r.Plant)), r.Y[i]))
	}
	slices.SortStableFunc(order, func(a, b int32) int {
		return cmp.Or(cmp.Compare(key[a], key[b]), cmp.Compare(r.Season[l.cells[a].records[0]], r.Season[l.cells[b].records[0]]))
	})
	sorted := make([]cell, len(order))
	for k, c := range order {
		sorted[k] = l.cells[c]
	}
	l.cells = sorted
	l.whole = scale(1/float64(len(r.Plant)+guessN), diag(guessN*guessSD*guessSD))
	for _, y := range r.Y {
		l.whole = add(l.whole, scale(1/float64(len(r.Plant)+guessN), outer(minus(y, l.grand))))
	}
	l.extra = make([]float64, len(r.Plant))
	if r.Cov != nil {
		size := make([]float64, len(r.Cov))
		for i, c := range r.Cov {
			size[i] = c[0][0] + c[1][1] + c[2][2]
		}
		usual := slices.Clone(size)
		slices.Sort(usual)
		for i, s := range size {
			l.extra[i] = max(0, s-usual[len(usual)/2]) / (3 * guessSD * guessSD)
		}
	}
	return l
}

// scatter is the covariance of plants within families as they are, a guess added.
func (l *line) scatter() m3 {
	ss, df := scale(guessN, diag(guessSD*guessSD)), float64(guessN)
	for c := range l.cells {
		rec := l.cells[c].records
		var m v3
		for _, i := range rec {
			m = plus(m, times(1/float64(len(rec)), l.Y[i]))
		}
		for _, i := range rec {
			ss = add(ss, scale(1/l.d[i]/(1+l.extra[i]), outer(minus(l.Y[i], m))))
		}
		df += float64(len(rec) - 1)
	}
	return scale(1/df, ss)
}

// passed is what a line's plants pass on beside the strong genes, as far as their parents, sibs and
// own records tell: places × values.
type passed struct {
	mean []v3
	cov  []m3
	seen []bool
}

// weigh fills in every cell's mean from top to bottom, where Y less what the strong genes are
// expected to give is known, t is the covariance of a group's founders, and spare the
// covariance of what the strong genes give each place.
func (l *line) weigh(less func(record int32) v3, spare func(place int32) m3, t m3) *passed {
	n := l.Ped.Len()
	u := &passed{make([]v3, n), make([]m3, n), make([]bool, n)}
	wide, season := diag(wideSD*wideSD), diag(seasonSD*seasonSD)
	g := scale(share, t)
	next := l.groups // places up to here have been looked at
	fill := func(upTo int32) {
		for ; next <= upTo; next++ {
			if u.seen[next] {
				continue
			}
			u.mean[next], u.cov[next] = l.middle(u, next)
			u.cov[next] = add(u.cov[next], scale(l.Ped.Mendelian(next), g))
			u.seen[next] = true
		}
	}
	for gr := range l.groups { // one without a founder that was measured is like the whole line
		if u.mean[gr], u.cov[gr] = l.grand, l.whole; l.grown[gr] {
			u.cov[gr] = wide
		}
	}
	for c := range l.cells {
		q := &l.cells[c]
		founders := q.pollen < l.groups && q.seed == q.pollen
		if !founders {
			fill(q.pollen)
		}
		if founders {
			q.prior, q.priorCov = u.mean[q.seed], add(u.cov[q.seed], season)
		} else {
			q.prior, q.priorCov = l.middle(u, l.Plant[q.records[0]])
			q.priorCov = add(q.priorCov, season)
		}
		q.priorInv, q.priorLog = inverse(q.priorCov)
		precision, sum := q.priorInv, apply(q.priorInv, q.prior)
		t1, _ := inverse(t)
		for _, i := range q.records {
			w := scale(1/(l.d[i]+l.extra[i]), t1)
			precision, sum = add(precision, w), plus(sum, apply(w, less(i)))
		}
		q.cov, _ = inverse(precision)
		q.mean = apply(q.cov, sum)
		if founders {
			u.mean[q.seed], u.cov[q.seed] = q.mean, q.cov
		}
		for _, i := range q.records {
			at := l.Plant[i]
			if !u.seen[at] {
				m, cov := l.without(q, i, t1, less(i))
				u.mean[at], u.cov[at] = m, add(cov, scale(l.Ped.Mendelian(at), g))
				u.seen[at] = true
			}
			r := add(add(scale(1-share+l.extra[i], t), season), spare(at))
			inv, _ := inverse(add(u.cov[at], r))
			gain := minus(less(i), u.mean[at])
			v := apply(inv, gain)
			cov := u.cov[at]
			u.mean[at] = plus(u.mean[at], apply(cov, v))
			var next m3
			for a := range 3 {
				for b := range 3 {
					next[a][b] = cov[a][b] - dot(cov[a], apply(inv, v3{cov[0][b], cov[1][b], cov[2][b]}))
				}
			}
			for a := range 3 {
				for b := range a {
					next[a][b] = (next[a][b] + next[b][a]) / 2
					next[b][a] = next[a][b]
				}
			}
			u.cov[at] = next
		}
	}
	return u
}

// middle is what a place's parents tell of it.
func (l *line) middle(u *passed, at int32) (v3, m3) {
	s, p := l.Ped.Parents(at)
	if s == p {
		return u.mean[s], u.cov[s]
	}
	return times(0.5, plus(u.mean[s], u.mean[p])), scale(0.25, add(u.cov[s], u.cov[p]))
}

// without is a cell's mean as the others of it tell, record i left out.
func (l *line) without(q *cell, i int32, t1 m3, less v3) (v3, m3) {
	w := scale(1/(l.d[i]+l.extra[i]), t1)
	precision, _ := inverse(q.cov)
	sum := minus(apply(precision, q.mean), apply(w, less))
	precision = add(precision, scale(-1, w))
	// Rounding must not make the rest less sure than the prior.
	for a := range 3 {
		precision[a][a] = max(precision[a][a], q.priorInv[a][a])
	}
	cov, _ := inverse(precision)
	return apply(cov, sum), cov
}

// apart is the Kullback-Leibler distance of a cell's mean from its prior.
func (q *cell) apart() float64 {
	_, logDet := inverse(q.cov)
	return 0.5 * (traceOf(q.priorInv, q.cov) + quadratic(q.priorInv, minus(q.mean, q.prior)) - 3 + q.priorLog - logDet)
}

// density is the logarithm of a normal density, by the inverse covariance.
func density(r v3, inv m3, logDet float64) float64 {
	return -0.5 * (quadratic(inv, r) + logDet + 3*math.Log(2*math.Pi))
}
