package genetics

import (
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"slices"
	"strings"
	"testing"
	"time"
)

// programme is a line of n plants over ten seasons, each of the 2 to 4 parents of a
// hundred plants before it, with one record of three traits a plant.
func programme(b testing.TB, n int) (*Pedigree, *Records, *Components) {
	rnd := rand.New(rand.NewPCG(20, uint64(n)))
	plants := make([]Parents, n)
	season := max(n/10, 1)
	for i := range plants {
		plants[i].ID = fmt.Sprint(i)
		if i < season {
			plants[i].Group = fmt.Sprint(i % 3)
			continue
		}
		before := i/season*season - season
		parents := max(4, season/33) // of a season, those that were kept
		x, y := before+rnd.IntN(parents), before+rnd.IntN(parents)
		plants[i].Seed, plants[i].Pollen = fmt.Sprint(x), fmt.Sprint(y)
	}
	ped := mustPedigree(b, plants)
	u := trueValues(rnd, ped, colorG)
	r := slices.Clone(colorG)
	lr := lower(r, 3)
	rec := &Records{Traits: 3, Effects: []Effect{{Levels: 10, Level: make([]int32, n), Var: []float64{1, 0, 0, 0, 1, 0, 0, 0, 1}}}}
	for i := range plants {
		at := ped.at(b, fmt.Sprint(i))
		y := slices.Clone(u[int(at)*3 : int(at)*3+3])
		addApply(y, 1, lr, normals(rnd, 3), 3)
		rec.Plant, rec.Y = append(rec.Plant, at), append(rec.Y, y...)
		rec.Effects[0].Level[i] = int32(min(i/season, 9))
	}
	return ped, rec, &Components{Additive: colorG, Residual: r, Group: []float64{2500, 0, 0, 0, 2500, 0, 0, 0, 2500}}
}

// Pedigree and inbreeding of 100 000 plants.
func BenchmarkPedigree(b *testing.B) {
	for _, n := range []int{12_500, 25_000, 50_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			ped, _, _ := programme(b, n)
			var plants []Parents
			for i := ped.groups; i < ped.Len(); i++ {
				p := Parents{ID: ped.ID(int32(i))}
				if s, q := ped.Parents(int32(i)); !ped.Founder(int32(i)) {
					p.Seed, p.Pollen = ped.ID(s), ped.ID(q)
				}
				plants = append(plants, p)
			}
			for b.Loop() {
				mustPedigree(b, plants)
			}
		})
	}
}

// Breeding values of three traits: asked are 100 000 plants in 10 s on two cores. Exact,
// with errors, and by iteration.
func BenchmarkEvaluate(b *testing.B) {
	for _, only := range []bool{false, true} {
		for _, n := range []int{12_500, 25_000, 50_000, 100_000} {
			b.Run(fmt.Sprintf("%d/values-only=%v", n, only), func(b *testing.B) {
				ped, rec, par := programme(b, n)
				for b.Loop() {
					v, err := Evaluate(ped, rec, par, &EvaluateOptions{ValuesOnly: only})
					if err != nil {
						b.Fatal(err)
					}
					b.ReportMetric(float64(v.Iterations), "iterations")
				}
			})
		}
	}
}

// Components of three traits: asked are 5 000 plants in 60 s.
func BenchmarkFit(b *testing.B) {
	for _, n := range []int{625, 1250, 2500, 5000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			ped, rec, par := programme(b, n)
			for b.Loop() {
				f, err := FitComponents(ped, rec, &FitOptions{Group: par.Group})
				if err != nil || !f.Converged {
					b.Fatal(f, err)
				}
				b.ReportMetric(float64(f.Iterations), "iterations")
			}
		})
	}
}

// Side by side with R, on one machine: the ratio of R's time to ours for lme4's one-way
// model of 2000 records in 200 groups, and for one trait's equations of 20 000 plants by
// a sparse Cholesky of Matrix. R's own start is not counted.
func BenchmarkBesideR(b *testing.B) {
	rnd := rand.New(rand.NewPCG(21, 21))
	b.Run("one-way", func(b *testing.B) {
		if exec.Command("Rscript", "-e", "library(lme4)").Run() != nil {
			b.Skip("R with lme4 is not there")
		}
		var y [][]float64
		for range 200 {
			m := rnd.NormFloat64()
			var of []float64
			for range 10 {
				of = append(of, m+rnd.NormFloat64())
			}
			y = append(y, of)
		}
		ped, rec := oneWay(b, y)
		theirs := runR(b, "lme4", `set.seed(1); g <- factor(rep(1:200, each=10)); y <- rnorm(200)[g] + rnorm(2000);
lmer(y ~ 1 + (1|g)); cat(system.time(for (i in 1:5) lmer(y ~ 1 + (1|g)))[["elapsed"]]/5)`)
		for b.Loop() {
			if _, err := FitComponents(ped, rec, nil); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(theirs[len(theirs)-1]/(b.Elapsed().Seconds()/float64(b.N)), "R/ours")
	})
	b.Run("equations", func(b *testing.B) {
		ped, rec, _ := programme(b, 20_000)
		one := &Records{Traits: 1, Plant: rec.Plant, Effects: []Effect{{Levels: 1, Level: make([]int32, len(rec.Plant))}}}
		for i := range rec.Plant {
			one.Y = append(one.Y, rec.Y[3*i])
		}
		var s, q, d []string
		for i := int32(ped.groups); int(i) < ped.Len(); i++ {
			x, y := ped.Parents(i)
			s, q = append(s, fmt.Sprint(max(int(x)-ped.groups+1, 0))), append(q, fmt.Sprint(max(int(y)-ped.groups+1, 0)))
			d = append(d, fmt.Sprint(max(ped.Mendelian(i), least)))
		}
		file := b.TempDir() + "/p.txt"
		if err := writeLines(file, s, q, d); err != nil {
			b.Fatal(err)
		}
		theirs := runR(b, "Matrix", fmt.Sprintf(`p <- as.matrix(read.table(%q)); n <- nrow(p); s <- p[,1]; q <- p[,2]; d <- p[,3]; y <- rnorm(n)
f <- function() {
T <- Diagonal(n) - 0.5*sparseMatrix(which(s>0), s[s>0], x=1, dims=c(n,n)) - 0.5*sparseMatrix(which(q>0), q[q>0], x=1, dims=c(n,n))
C <- forceSymmetric(rbind(cbind(Matrix(n/2), Matrix(0.5, 1, n)),
  cbind(Matrix(0.5, n, 1), t(T) %%*%% Diagonal(x=1/d) %%*%% T + Diagonal(n)*0.5)))
solve(Cholesky(C), c(sum(y)/2, y/2)) }
f(); cat(system.time(f())[["elapsed"]])`, file))
		par := &Components{Additive: []float64{1}, Residual: []float64{2}}
		for b.Loop() {
			if _, err := Evaluate(ped, one, par, &EvaluateOptions{ValuesOnly: true}); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(theirs[len(theirs)-1]/(b.Elapsed().Seconds()/float64(b.N)), "R/ours")
		start := time.Now()
		if _, err := Evaluate(ped, one, par, nil); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(theirs[len(theirs)-1]/time.Since(start).Seconds(), "R/ours-with-errors")
	})
}

func writeLines(file string, columns ...[]string) error {
	var b strings.Builder
	for i := range columns[0] {
		for k, c := range columns {
			if k > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(c[i])
		}
		b.WriteByte('\n')
	}
	return os.WriteFile(file, []byte(b.String()), 0o666)
}
