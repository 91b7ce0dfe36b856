package genetics

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
)

// runR runs a script of R with a library and returns the numbers it prints. Without R the
// test is skipped, and fails where HUEWARD_FULL is 1.
func runR(t testing.TB, library, script string) []float64 {
	t.Helper()
	out, err := exec.Command("Rscript", "--vanilla", "-e", "suppressMessages(library("+library+")); cat('loaded\n'); "+script).CombinedOutput()
	if !strings.Contains(string(out), "loaded") {
		if os.Getenv("HUEWARD_FULL") == "1" {
			t.Fatalf("R with %s is not there: packages r-base-core and r-cran-lme4\n%s", library, out)
		}
		t.Skipf("R with %s is not there", library)
	}
	if err != nil {
		t.Fatalf("R: %v\n%s", err, out)
	}
	var v []float64
	for _, f := range strings.Fields(string(out)) {
		if x, err := strconv.ParseFloat(f, 64); err == nil {
			v = append(v, x)
		}
	}
	return v
}

// Against lme4's REML, on its own data and on an unbalanced one-way design drawn here.
func TestFitLme4(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(18, 18))
	var y [][]float64
	var values, group []string
	for g := range 25 {
		m := 3 * rnd.NormFloat64()
		var of []float64
		for range 1 + rnd.IntN(9) {
			x := math.Round(1e6*(20+m+2*rnd.NormFloat64())) / 1e6
			of = append(of, x)
			values, group = append(values, fmt.Sprint(x)), append(group, fmt.Sprint(g))
		}
		y = append(y, of)
	}
	v := runR(t, "lme4", fmt.Sprintf(`v <- function(m) format(as.data.frame(VarCorr(m))$vcov, digits = 10)
d <- data.frame(y = c(%s), g = factor(c(%s)))
cat(v(lmer(Yield ~ 1 + (1|Batch), Dyestuff)), v(lmer(y ~ 1 + (1|g), d)), Dyestuff$Yield)`,
		strings.Join(values, ","), strings.Join(group, ",")))
	if len(v) != 4+30 {
		t.Fatalf("R says %v", v)
	}
	for i, y := range v[4:] {
		near(t, "Dyestuff", dyestuff[i/5][i%5], y, 0)
	}
	for i, c := range []struct {
		y         [][]float64
		tolerance float64
	}{{dyestuff, 3e-5}, {y, 2e-4}} {
		ped, rec := oneWay(t, c.y)
		f, err := FitComponents(ped, rec, nil)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "between", f.Additive[0], v[2*i], c.tolerance*v[2*i])
		near(t, "within", f.Residual[0], v[2*i+1], c.tolerance*v[2*i+1])
	}
}

// Against a sparse Cholesky of R's Matrix for the same equations, of a pedigree with
// selfs, where R builds the relationship's inverse by Henderson's rules itself.
func TestEvaluateMatrix(t *testing.T) {
	t.Parallel()
	rnd := rand.New(rand.NewPCG(19, 19))
	const n = 400
	var plants []Parents
	var seed, pollen, d []string
	for i := range n {
		p := Parents{ID: fmt.Sprint(i)}
		s, q := 0, 0
		if i >= 30 {
			s, q = 1+rnd.IntN(i), 1+rnd.IntN(i)
			if rnd.IntN(5) == 0 {
				q = s
			}
			p.Seed, p.Pollen = fmt.Sprint(s-1), fmt.Sprint(q-1)
		}
		plants = append(plants, p)
		seed, pollen = append(seed, fmt.Sprint(s)), append(pollen, fmt.Sprint(q))
	}
	ped := mustPedigree(t, plants)
	rec := &Records{Traits: 1, Effects: []Effect{{Levels: 1, Level: make([]int32, n)}}}
	var y []string
	for i := range n {
		v := math.Round(1e6*rnd.NormFloat64()) / 1e6
		at := ped.at(t, fmt.Sprint(i))
		rec.Plant, rec.Y = append(rec.Plant, at), append(rec.Y, v)
		y = append(y, fmt.Sprint(v))
		d = append(d, fmt.Sprint(max(ped.Mendelian(at), least)))
	}
	v, err := Evaluate(ped, rec, &Components{Additive: []float64{1}, Residual: []float64{2}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	got := runR(t, "Matrix", fmt.Sprintf(`n <- %d; s <- c(%s); q <- c(%s); d <- c(%s); y <- c(%s)
T <- Diagonal(n) - 0.5*sparseMatrix(which(s>0), s[s>0], x=1, dims=c(n,n)) - 0.5*sparseMatrix(which(q>0), q[q>0], x=1, dims=c(n,n))
Ai <- t(T) %%*%% Diagonal(x=1/d) %%*%% T
C <- forceSymmetric(rbind(cbind(Matrix(n/2), Matrix(0.5, 1, n)), cbind(Matrix(0.5, n, 1), Ai + Diagonal(n)*0.5)))
cat(format(as.numeric(solve(Cholesky(C), c(sum(y)/2, y/2))), digits=10))`,
		n, strings.Join(seed, ","), strings.Join(pollen, ","), strings.Join(d, ","), strings.Join(y, ",")))
	if len(got) != n+1 {
		t.Fatalf("R gives %d numbers", len(got))
	}
	near(t, "mean", v.Levels[0][0], got[0], 1e-7)
	for i := range n {
		near(t, "value of "+fmt.Sprint(i), v.Value(ped.at(t, fmt.Sprint(i)))[0], got[i+1], 1e-7)
	}
}
