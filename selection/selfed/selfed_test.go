package selfed

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"hueward/colorimg/cie"
)

var (
	cream  = cie.Lab{L: 88, A: 2, B: 24}
	orange = cie.Lab{L: 66, A: 34, B: 58}
)

// family is of n offspring, selfs of them selfed, the others at so much of the way from the
// seed parent to the pollen parent; each scatters by sd in every direction.
func family(r *rand.Rand, seed, pollen cie.Lab, n, selfs int, at, sd float64) []Offspring {
	out := make([]Offspring, n)
	for i := range out {
		t := at
		if i < selfs {
			t = 0
		}
		mix := func(x, y float64) float64 { return x + t*(y-x) + sd*r.NormFloat64() }
		out[i] = Offspring{fmt.Sprint(i), cie.Lab{L: mix(seed.L, pollen.L), A: mix(seed.A, pollen.A), B: mix(seed.B, pollen.B)}}
	}
	return out
}

// Simulated families of cream by orange, 52 Delta E*ab apart, with the crossed offspring from
// two fifths of the way to the orange up to all of it (its genes dominant), and none to half
// of them selfed: at most one in a hundred of the crossed is flagged, nine in ten of the
// selfs are found, and their share is estimated.
func TestFind(t *testing.T) {
	t.Parallel()
	for _, at := range []float64{0.4, 0.5, 0.75, 1} {
		for _, share := range []float64{0, 0.1, 0.3, 0.5} {
			r := rand.New(rand.NewPCG(7, uint64(100*at+10*share)))
			var wrong, crossed, found, selfs, estimate float64
			const families, n = 60, 20
			for range families {
				k := 0
				for range n {
					if r.Float64() < share {
						k++
					}
				}
				got := Find(cream, orange, family(r, cream, orange, n, k, at, 4))
				if !got.Telling || got.All {
					t.Fatalf("at %v, %d selfs: %+v", at, k, got)
				}
				estimate += got.Share
				for i := range n {
					self := got.Self(fmt.Sprint(i))
					switch {
					case i < k:
						selfs++
						if self {
							found++
						}
					default:
						crossed++
						if self {
							wrong++
						}
					}
				}
			}
			if wrong > 0.01*crossed || found < 0.9*selfs {
				t.Errorf("at %v, %.0f %% selfs: %.0f of %.0f crossed flagged, %.0f of %.0f selfs found", at, 100*share, wrong, crossed, found, selfs)
			}
			if e := estimate / families; e < share-0.03 || e > share+0.07 {
				t.Errorf("at %v: a share of %.2f, want %.2f", at, e, share)
			}
		}
	}
}

// Parents too alike tell nothing, and nobody is flagged; where all look like the seed parent
// that is said, as a dominant colour does the same; a family of one, none, or of two parents of
// one colour is borne.
func TestFindLimits(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	near := cie.Lab{L: 86, A: 5, B: 28}
	for range 50 {
		got := Find(cream, near, family(r, cream, near, 20, 5, 0.5, 4))
		for i := range 20 {
			if got.Telling || got.Self(fmt.Sprint(i)) {
				t.Fatalf("parents %.1f apart: %+v", 2*got.Apart, got)
			}
		}
		if got := Find(cream, orange, family(r, cream, orange, 20, 20, 0.5, 3)); !got.All || got.Share < 0.8 {
			t.Fatalf("all like the seed parent: %+v", got)
		}
	}
	if got := Find(cream, orange, family(r, cream, orange, 1, 1, 0.5, 0)); !got.Self("0") || got.All {
		t.Errorf("one that is the seed parent's colour: %+v", got)
	}
	if got := Find(cream, orange, family(r, cream, orange, 1, 0, 0.5, 0)); got.Self("0") {
		t.Errorf("one midway: %+v", got)
	}
	if got := Find(cream, orange, nil); len(got.Likely) > 0 || got.Telling {
		t.Errorf("no offspring: %+v", got)
	}
	if got := Find(cream, cream, family(r, cream, cream, 3, 0, 0.5, 3)); got.Telling {
		t.Errorf("parents of one colour: %+v", got)
	}
}

// Probabilities, whatever the colours; and which way the colours are turned does not matter.
func TestFindProbabilities(t *testing.T) {
	t.Parallel()
	lab := func(t *rapid.T, name string) cie.Lab {
		return cie.Lab{L: rapid.Float64Range(0, 100).Draw(t, name+"L"), A: rapid.Float64Range(-100, 100).Draw(t, name+"a"),
			B: rapid.Float64Range(-100, 100).Draw(t, name+"b")}
	}
	rapid.Check(t, func(t *rapid.T) {
		seed, pollen := lab(t, "seed"), lab(t, "pollen")
		var all, turned []Offspring
		turn := func(c cie.Lab) cie.Lab { return cie.Lab{L: c.L, A: c.B, B: -c.A} }
		for i := range rapid.IntRange(0, 8).Draw(t, "n") {
			o := Offspring{fmt.Sprint(i), lab(t, fmt.Sprint(i))}
			all, turned = append(all, o), append(turned, Offspring{o.ID, turn(o.Lab)})
		}
		x, y := Find(seed, pollen, all), Find(turn(seed), turn(pollen), turned)
		for _, o := range all {
			p, q := x.Likely[o.ID], y.Likely[o.ID]
			if !(p >= 0 && p <= 1) || p-q > 1e-6 || q-p > 1e-6 {
				t.Fatalf("%s: %v, turned %v", o.ID, p, q)
			}
		}
		if !(x.Share >= 0 && x.Share <= 1 && x.Scatter >= least) {
			t.Fatalf("%+v", x)
		}
	})
}
