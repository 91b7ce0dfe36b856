package majorgene

import (
	"cmp"
	"slices"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// Records are plants' colours in seasons.
type Records struct {
	Ped    *genetics.Pedigree
	Plant  []int32        // each record's plant, as its place in the pedigree
	Season []int32        // each record's season, counted from 0
	Y      []space.Vector // colours
	Cov    []space.Matrix // covariance of each record's own error; nil: not known
}

// All these are guesses. Standard deviations are in each of L*, a*, b*.
const (
	share    = 0.5 // additive share of the variance between a group's founders (a heritability), to predict families' means
	seasonSD = 1.5 // of a season's effect on a family
	wideSD   = 50  // of differences between founder groups, and of the prior of effects: so large that it tells nothing
	guessSD  = 3   // of plants of a family, as a prior
	guessN   = 4   // number of plants that guessSD counts for
	leastSD  = 1   // least standard deviation of plants of a family
)

// cell is the records of one family, or of one group's founders, in one season. Polygenes and weather give them a
// common mean, which is normal around the mean that their parents predict.
type cell struct {
	seed, pollen int32
	records      []int32
	prior, mean  space.Vector // the common mean, predicted from the parents; updated by the records
	priorCov     space.Matrix // of prior
	cov          space.Matrix // of mean, as if all genotypes were known
	priorInv     space.Matrix // inverse of priorCov, and the logarithm of priorCov's determinant
	priorLog     float64
	precision    space.Matrix // inverse covariance of mean, with the uncertainty of the genotypes
}

// line is a line's records, laid out once for all models.
type line struct {
	*Records
	net    *network
	groups int32
	cells  []cell
	d      []float64      // each record's variance within its family, relative to that between a group's founders
	extra  []float64      // each record's own error variance beyond the usual one, over guessSD²
	tells  []space.Matrix // each record's precision as a measurement of its cell's mean
	grand  space.Vector   // mean of all colours
	whole  space.Matrix   // covariance of all colours
	grown  []bool         // whether a founder of the group has a colour
	bears  []bool         // whether the plant at the place has offspring
	shown  []int32        // the nodes that have a colour, ascending
}

func newLine(r *Records) *line {
	l := &line{Records: r, net: newNetwork(r.Ped), groups: int32(r.Ped.Groups())}
	for _, plant := range r.Plant {
		l.shown = append(l.shown, plant-l.groups)
	}
	slices.Sort(l.shown)
	l.shown = slices.Compact(l.shown)
	l.grown, l.bears = make([]bool, l.groups), make([]bool, r.Ped.Len())
	for i := l.groups; i < int32(r.Ped.Len()); i++ {
		s, p := r.Ped.Parents(i)
		l.bears[s], l.bears[p] = true, true
	}
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
		l.grand = space.Plus(l.grand, space.Times(1/float64(len(r.Plant)), r.Y[i]))
	}
	slices.SortStableFunc(order, func(a, b int32) int {
		return cmp.Or(cmp.Compare(key[a], key[b]), cmp.Compare(r.Season[l.cells[a].records[0]], r.Season[l.cells[b].records[0]]))
	})
	sorted := make([]cell, len(order))
	for k, c := range order {
		sorted[k] = l.cells[c]
	}
	l.cells = sorted
	l.whole = space.Scale(1/float64(len(r.Plant)+guessN), space.Diag(space.Even(guessN*guessSD*guessSD)))
	for _, y := range r.Y {
		l.whole = space.Add(l.whole, space.Scale(1/float64(len(r.Plant)+guessN), space.Outer(space.Minus(y, l.grand))))
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

// scatter returns the pooled covariance of plants within families, with a prior.
func (l *line) scatter() space.Matrix {
	ss, df := space.Scale(guessN, space.Diag(space.Even(guessSD*guessSD))), float64(guessN)
	for c := range l.cells {
		rec := l.cells[c].records
		var m space.Vector
		for _, i := range rec {
			m = space.Plus(m, space.Times(1/float64(len(rec)), l.Y[i]))
		}
		for _, i := range rec {
			ss = space.Add(ss, space.Scale(1/l.d[i]/(1+l.extra[i]), space.Outer(space.Minus(l.Y[i], m))))
		}
		df += float64(len(rec) - 1)
	}
	return space.Scale(1/df, ss)
}

// passed is the polygenic value of each place of the pedigree (colour without strong genes and weather),
// given its parents, sibs and own records.
type passed struct {
	mean []space.Vector
	cov  []space.Matrix
	seen []bool // mean and cov are filled in
}

// weigh fills in every cell's mean, from the oldest plants to the youngest. mean and spare are the expected effect of each
// node's strong genes and its covariance; t is the covariance of a group's founders. Polygenic values are worked out only
// for plants that have offspring.
func (l *line) weigh(mean []space.Vector, spare []space.Matrix, t space.Matrix) {
	less := func(record int32) space.Vector { return space.Minus(l.Y[record], mean[l.Plant[record]-l.groups]) }
	n := l.Ped.Len()
	u := &passed{make([]space.Vector, n), make([]space.Matrix, n), make([]bool, n)}
	wide, season := space.Diag(space.Even(wideSD*wideSD)), space.Diag(space.Even(seasonSD*seasonSD))
	t1, g := space.Inverse(t), space.Scale(share, t)
	next := l.groups // the first place that fill has not looked at
	fill := func(upTo int32) {
		for ; next <= upTo; next++ {
			if u.seen[next] || !l.bears[next] {
				continue
			}
			u.mean[next], u.cov[next] = l.middle(u, next)
			u.cov[next] = space.Add(u.cov[next], space.Scale(l.Ped.Mendelian(next), g))
			u.seen[next] = true
		}
	}
	for gr := range l.groups { // a group without a measured founder is taken to be like the whole line
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
			q.prior, q.priorCov = u.mean[q.seed], space.Add(u.cov[q.seed], season)
		} else {
			q.prior, q.priorCov = l.middle(u, l.Plant[q.records[0]])
			q.priorCov = space.Add(q.priorCov, season)
		}
		q.priorInv, q.priorLog = space.InverseLog(q.priorCov)
		by, weight := space.Vector{}, 0.0
		q.precision = q.priorInv
		var last, tells space.Matrix
		for _, i := range q.records {
			v := l.d[i] + l.extra[i]
			weight, by = weight+1/v, space.Plus(by, space.Times(1/v, less(i)))
			if sum := space.Add(space.Scale(v, t), spare[l.Plant[i]-l.groups]); sum != last { // sibs often have the same sum
				last = sum
				tells = space.Inverse(sum)
			}
			l.tells[i] = tells
			q.precision = space.Add(q.precision, tells)
		}
		q.cov = space.Inverse(space.Add(q.priorInv, space.Scale(weight, t1)))
		q.mean = space.Apply(q.cov, space.Plus(space.Apply(q.priorInv, q.prior), space.Apply(t1, by)))
		if founders {
			u.mean[q.seed], u.cov[q.seed] = q.mean, space.Inverse(q.precision)
		} else {
			l.learn(u, q)
		}
		for _, i := range q.records {
			at := l.Plant[i]
			if !l.bears[at] {
				continue
			}
			y := less(i)
			if !u.seen[at] {
				cov := l.covWithout(q, i)
				u.mean[at], u.cov[at] = l.without(q, i, &cov, &t1, y), space.Add(cov, space.Scale(l.Ped.Mendelian(at), g))
				u.seen[at] = true
			}
			cov := u.cov[at]
			r := space.Add(space.Add(space.Scale(1-share+l.extra[i], t), season), spare[at-l.groups])
			gain := space.Mul(cov, space.Inverse(space.Add(cov, r)))
			u.mean[at] = space.Plus(u.mean[at], space.Apply(gain, space.Minus(y, u.mean[at])))
			next := space.Mul(gain, cov)
			for a := range 3 {
				for b := range a + 1 {
					next[a][b] = cov[a][b] - (next[a][b]+next[b][a])/2
					next[b][a] = next[a][b]
				}
			}
			u.cov[at] = next
		}
	}
}

// learn updates the polygenic values of a family's parents by the family's mean, for the families that come after. Without it
// a parent whose own colour misled shifts all its families alike, and looks like a strong gene. The covariance of the two
// parents' values, which the family brings about, is left out; an unknown parent, a place of its group, is not updated.
//
// Source: a normal prior updated by one normal observation after the other, Kalman 1960, J. Basic Eng. 82:35.
func (l *line) learn(u *passed, q *cell) {
	by := space.Sub(q.priorInv, space.Mul(space.Mul(q.priorInv, space.Inverse(q.precision)), q.priorInv))
	told := space.Apply(q.priorInv, space.Minus(q.mean, q.prior))
	parents, part := []int32{q.seed, q.pollen}, 0.5
	if q.seed == q.pollen {
		parents, part = parents[:1], 1
	}
	for _, at := range parents {
		if at >= l.groups {
			gain := space.Scale(part, u.cov[at])
			u.mean[at] = space.Plus(u.mean[at], space.Apply(gain, told))
			u.cov[at] = space.Semidefinite(space.Sub(u.cov[at], space.Mul(space.Mul(gain, by), gain)))
		}
	}
}

// middle returns the mean of a place's parents' polygenic values, and its covariance.
func (l *line) middle(u *passed, at int32) (space.Vector, space.Matrix) {
	s, p := l.Ped.Parents(at)
	if s == p {
		return u.mean[s], u.cov[s]
	}
	return space.Times(0.5, space.Plus(u.mean[s], u.mean[p])), space.Scale(0.25, space.Add(u.cov[s], u.cov[p]))
}

// without returns a cell's mean without record i, whose colour less the expected effect of strong genes is less; cov is
// from [line.covWithout], and t1 is the inverse of t.
func (l *line) without(q *cell, i int32, cov, t1 *space.Matrix, less space.Vector) space.Vector {
	shift := space.Apply(*cov, space.Apply(*t1, space.Minus(less, q.mean)))
	return space.Minus(q.mean, space.Times(1/(l.d[i]+l.extra[i]), shift))
}

// covWithout returns the covariance of a cell's mean without record i.
func (l *line) covWithout(q *cell, i int32) space.Matrix {
	precision := space.Sub(q.precision, l.tells[i])
	// Rounding must not take the precision below that of the prior.
	for a := range 3 {
		precision[a][a] = max(precision[a][a], q.priorInv[a][a])
	}
	return space.Inverse(precision)
}
