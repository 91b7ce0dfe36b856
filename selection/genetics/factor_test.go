package genetics

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// Against gonum's dense Cholesky, on random sparse matrices of blocks.
func TestFactorDense(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		rnd := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))
		tr, n := rapid.IntRange(1, 4).Draw(t, "traits"), rapid.IntRange(1, 40).Draw(t, "nodes")
		g := newGraph(n)
		for i := range g.last {
			g.last[i] = rnd.IntN(12) == 0
		}
		var pairs [][2]int32
		for range rapid.IntRange(0, 3*n).Draw(t, "pairs") {
			i, j := rnd.Int32N(int32(n)), rnd.Int32N(int32(n))
			pairs = append(pairs, [2]int32{i, j})
			g.join(i, j)
		}
		f := newFactor(newPlan(g), tr)
		full := mat.NewDense(n*tr, n*tr, nil)
		add := func(i, j int32) { // (e_i + x e_j)(e_i + x e_j)' in blocks: positive semidefinite
			x := make([]float64, tr*tr)
			for k := range x {
				x[k] = rnd.NormFloat64()
			}
			xt := mat.DenseCopyOf(mat.NewDense(tr, tr, x).T()).RawMatrix().Data
			unit := make([]float64, tr*tr)
			for k := range tr {
				unit[k*tr+k] = 1
			}
			put := func(a, b int32, v []float64) {
				f.add(a, b, 1, v)
				for k := range tr {
					for l := range tr {
						full.Set(int(a)*tr+k, int(b)*tr+l, full.At(int(a)*tr+k, int(b)*tr+l)+v[k*tr+l])
						if a != b {
							full.Set(int(b)*tr+l, int(a)*tr+k, full.At(int(b)*tr+l, int(a)*tr+k)+v[k*tr+l])
						}
					}
				}
			}
			put(i, i, unit)
			if i != j {
				put(i, j, xt)
				put(j, j, product(x, xt, tr))
			}
		}
		for i := range int32(n) {
			add(i, i)
		}
		for _, p := range pairs {
			add(p[0], p[1])
		}
		if err := f.factorize(); err != nil {
			t.Fatal(err)
		}
		sym := mat.NewSymDense(n*tr, nil)
		for i := range n * tr {
			for j := i; j < n*tr; j++ {
				sym.SetSym(i, j, full.At(i, j))
			}
		}
		var chol mat.Cholesky
		if !chol.Factorize(sym) {
			t.Fatal("the dense matrix is singular")
		}
		if d := math.Abs(f.logDet - chol.LogDet()); d > 1e-8*(1+math.Abs(f.logDet)) {
			t.Fatalf("logarithm of the determinant %v, dense %v", f.logDet, chol.LogDet())
		}
		b := make([]float64, n*tr)
		for i := range b {
			b[i] = rnd.NormFloat64()
		}
		var want mat.VecDense
		if err := chol.SolveVecTo(&want, mat.NewVecDense(n*tr, append([]float64{}, b...))); err != nil {
			t.Fatal(err)
		}
		f.solve(b)
		for i := range b {
			if math.Abs(b[i]-want.AtVec(i)) > 1e-7*(1+math.Abs(b[i])) {
				t.Fatalf("solution %d is %v, dense %v", i, b[i], want.AtVec(i))
			}
		}
		var inv mat.SymDense
		if err := chol.InverseTo(&inv); err != nil {
			t.Fatal(err)
		}
		z := f.invertBlocks()
		check := func(i, j int32) {
			got := z.block(i, j)
			for k := range tr {
				for l := range tr {
					if want := inv.At(int(i)*tr+k, int(j)*tr+l); math.Abs(got[k*tr+l]-want) > 1e-7*(1+math.Abs(want)) {
						t.Fatalf("inverse of %d, %d: %v at %d, %d, dense %v", i, j, got[k*tr+l], k, l, want)
					}
				}
			}
		}
		for i := range int32(n) {
			check(i, i)
		}
		for _, p := range pairs {
			check(p[0], p[1])
			check(p[1], p[0])
		}
	})
}

func TestFactorSingular(t *testing.T) {
	t.Parallel()
	g := newGraph(2)
	g.join(0, 1)
	f := newFactor(newPlan(g), 1)
	for i := range int32(2) {
		for j := range i + 1 {
			f.add(i, j, 1, []float64{1})
		}
	}
	if err := f.factorize(); err == nil {
		t.Error("factorize of a matrix of ones gives no error")
	}
}
