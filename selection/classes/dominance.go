package classes

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
	"hueward/selection/space"
)

// Group is the mean colour of a parent or a family, and the covariance of its error.
type Group struct {
	Mean cie.Lab
	Cov  [3][3]float64
}

// Dominance is how an F1 lies between its parents.
type Dominance struct {
	// Degree is 0 where the F1 lies in the middle, 1 where it is like the second parent and
	// -1 where it is like the first, along the line between them. SE is its standard error.
	Degree, SE float64
	Off        float64 // distance of the F1 from that line, Delta E 2000 to the nearest point
	Square     float64 // chi-square of the F1 against Middle, with 3 degrees of freedom
	P          float64 // p-value of Square: the chance of a distance as large if genes act additively
	Middle     cie.Lab // the mid-parent value
}

// AddsUp compares an F1's mean with the mid-parent value: with additive genes, they are the same. ok is false where the
// parents do not differ by at least 2 Lab units, or where an error covariance is singular.
//
// Source: the degree of dominance of Falconer and Mackay 1996, chapter 7, over many
// genes; the test is that of a mean with a known covariance.
func AddsUp(first, second, f1 Group) (d Dominance, ok bool) {
	p, q, m := space.Of(first.Mean), space.Of(second.Mean), space.Of(f1.Mean)
	mid, line, off := mat.NewVecDense(3, nil), mat.NewVecDense(3, nil), mat.NewVecDense(3, nil)
	cov := mat.NewSymDense(3, nil)
	for i := range 3 {
		mid.SetVec(i, (p[i]+q[i])/2)
		line.SetVec(i, (q[i]-p[i])/2)
		off.SetVec(i, m[i]-mid.AtVec(i))
		for j := i; j < 3; j++ {
			cov.SetSym(i, j, f1.Cov[i][j]+(first.Cov[i][j]+second.Cov[i][j])/4)
		}
	}
	d.Middle = cie.Lab{L: mid.AtVec(0), A: mid.AtVec(1), B: mid.AtVec(2)}
	length := mat.Dot(line, line)
	var chol mat.Cholesky
	if length < 1 || !chol.Factorize(cov) {
		return d, false
	}
	var s mat.VecDense
	_ = chol.SolveVecTo(&s, off) // factored: not singular
	d.Square = mat.Dot(off, &s)
	d.P = distuv.ChiSquared{K: 3}.Survival(d.Square)
	d.Degree = mat.Dot(off, line) / length
	d.SE = math.Sqrt(mat.Inner(line, cov, line)) / length
	on := cie.Lab{L: mid.AtVec(0) + d.Degree*line.AtVec(0), A: mid.AtVec(1) + d.Degree*line.AtVec(1), B: mid.AtVec(2) + d.Degree*line.AtVec(2)}
	d.Off = cie.DeltaE2000(on, f1.Mean)
	return d, true
}
