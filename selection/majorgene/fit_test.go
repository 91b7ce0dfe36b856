package majorgene

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"hueward/selection/genetics"
	"hueward/selection/space"
)

// books is how many are drawn of each kind.
func books(short int) int {
	n, _ := strconv.Atoi(os.Getenv("HUEWARD_STUDY"))
	switch {
	case n > 0:
		return n
	case os.Getenv("HUEWARD_FULL") == "1":
		return 3 * short
	}
	return short
}

// Which model is chosen, in made-up lines of 24 to 500 plants whose strong genes are known. Lines in
// which colour adds up give a strong gene in one of twenty at most. HUEWARD_STUDY=100
// draws so many of each, from HUEWARD_SEED on.
func TestRecovery(t *testing.T) {
	t.Parallel()
	from, _ := strconv.Atoi(os.Getenv("HUEWARD_SEED"))
	for i, s := range schemes {
		n := s.founders + s.each*(s.seasons-1)
		for _, c := range []struct {
			truth
			least float64 // share of lines of 60 plants and more in which a strong gene is found
		}{{none, 0}, {dominant, 0.85}, {halfway, 0}, {pathway, 0.95}} {
			runs := books(1)
			if (n > 200 || c.name == halfway.name) && runs == 1 {
				continue
			}
			var loci [MostLoci + 1]int
			own := make([]float64, runs)
			models := make([]*Model, runs)
			genetics.SideBySide(runs, func(run int) {
				b := grow(rand.New(rand.NewPCG(uint64(from+run), 300+uint64(i))), s, c.truth)
				if models[run] = Fit(b.records, nil); models[run].Loci > 0 {
					own[run] = b.genotypesFound(models[run])
				}
			})
			right := 0.0
			for run, m := range models {
				loci[m.Loci]++
				right += own[run]
			}
			found := runs - loci[0]
			t.Logf("%d plants, %s: none, one, two, three strong genes in %d of %d lines; chance of the true colour class %.2f",
				n, c.name, loci, runs, right/math.Max(float64(found), 1))
			share, se := float64(found)/float64(runs), math.Sqrt(0.05*0.95/float64(runs))
			if c.loci == 0 && share > 0.05+2*se {
				t.Errorf("%d plants: a strong gene is found in %d of %d lines without", n, found, runs)
			}
			if c.loci > 0 && n >= 60 && share < c.least-2*math.Sqrt(c.least*(1-c.least)/float64(runs)) {
				t.Errorf("%d plants, %s: a strong gene is found in %d of %d lines", n, c.name, found, runs)
			}
		}
	}
}

// genotypesFound is the mean over the plants of the chance that they are within Delta E 5 of what their
// strong genes make of them, taken from the first homozygotes.
func (b *book) genotypesFound(m *Model) float64 {
	sum := 0.0
	for i, p := range b.plants {
		at, _ := b.records.Ped.Place(p.ID)
		strong := space.Minus(b.color[i], b.poly[i])
		for g, c := range m.Of(at) {
			if d := space.Minus(m.Effects[g], strong); space.Dot(d, d) < 25 {
				sum += c
			}
		}
	}
	return sum / float64(len(b.plants))
}

// One F2 family of two pure lines in one season is a mixture of normal distributions with one
// covariance and shares of 3 to 1: against its maximum of likelihood found by R's nlm (base R, over
// means and Cholesky factor, begun elsewhere). Without R the test is skipped, and fails where
// HUEWARD_FULL is 1.
func TestOneFamily(t *testing.T) {
	if _, err := exec.LookPath("Rscript"); err != nil {
		if os.Getenv("HUEWARD_FULL") == "1" {
			t.Fatal("R is not there: package r-base-core")
		}
		t.Skip("R is not there")
	}
	rnd := rand.New(rand.NewPCG(3, 9))
	plants := []genetics.Parents{{ID: "P", Group: "P", Inbreeding: 1}, {ID: "Q", Group: "Q", Inbreeding: 1},
		{ID: "F1", Seed: "P", Pollen: "Q"}}
	r := &Records{}
	var numbers []string
	for i := range 200 {
		plants = append(plants, genetics.Parents{ID: fmt.Sprint(i), Seed: "F1", Pollen: "F1"})
		y := space.Vector{60 + 3*rnd.NormFloat64(), 20 + 3*rnd.NormFloat64(), 40 + 3*rnd.NormFloat64()}
		if rnd.IntN(4) == 0 {
			y[0] += 9
		}
		for _, v := range y {
			numbers = append(numbers, fmt.Sprint(v))
		}
		r.Y, r.Season = append(r.Y, y), append(r.Season, 0)
	}
	ped, err := genetics.NewPedigree(plants)
	if err != nil {
		t.Fatal(err)
	}
	for _, p := range plants[3:] {
		at, _ := ped.Place(p.ID)
		r.Plant = append(r.Plant, at)
	}
	r.Ped = ped
	l := newLine(r)
	m := l.refine(l.grow(l.null()))
	if m.h.partial[0] {
		t.Fatal("partial dominance is found")
	}
	m.weigh()
	m.p.reset()
	m.see(nil)
	chances := make([]float64, len(m.p.local)) // with effects and scatter known, as R has them
	m.p.settle(chances)
	cmd := exec.Command("Rscript", "--vanilla", "-e", `y <- matrix(scan(file("stdin"), quiet=TRUE), ncol=3, byrow=TRUE)
parts <- function(p) { L <- matrix(0,3,3); L[lower.tri(L,TRUE)] <- p[7:12]; diag(L) <- exp(diag(L))
  d <- function(m) { z <- forwardsolve(L, t(y)-m); -colSums(z^2)/2 - sum(log(diag(L))) }
  cbind(log(0.75)+d(p[1:3]), log(0.25)+d(p[4:6])) }
f <- function(p) { q <- parts(p); a <- pmax(q[,1],q[,2]); -sum(a+log(exp(q[,1]-a)+exp(q[,2]-a))) }
s <- nlm(f, c(58,21,41, 70,19,39, 1,0,0,1,0,1), iterlim=1000, gradtol=1e-8)
q <- parts(s$estimate); cat(format(s$estimate[4:6]-s$estimate[1:3], digits=8), format(1/(1+exp(q[,1]-q[,2])), digits=8))`)
	cmd.Stdin = strings.NewReader(strings.Join(numbers, "\n"))
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("R: %v\n%s", err, out)
	}
	var want []float64
	for _, f := range strings.Fields(string(out)) {
		if v, err := strconv.ParseFloat(f, 64); err == nil {
			want = append(want, v)
		}
	}
	if len(want) != 203 {
		t.Fatalf("R says %s", out)
	}
	for i := range 3 {
		if math.Abs(m.effect(2)[i]-want[i]) > 0.15 {
			t.Errorf("effect %.3f, R has %.3f", m.effect(2), want[:3])
		}
	}
	for i, at := range r.Plant {
		if p := chances[3*(at-l.groups)+2]; math.Abs(p-want[3+i]) > 0.03 {
			t.Errorf("plant %d: chance to be pale %.3f, R has %.3f", i, p, want[3+i])
		}
	}
}
