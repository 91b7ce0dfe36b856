package trend

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"hueward/colorimg/cie"
	"hueward/selection"
)

// restless is a second simulator of lines that are held, of other assumptions than standing: a season shifts L*, a* and b*
// together (a hot one pales and yellows), and resembles the one before; plants scatter by Student's t of 4 degrees of freedom,
// more in one season than in another; numbers of plants differ by the season, and check plants may be lost.
type restless struct {
	weather, again float64 // standard deviation of a season's shift, and its correlation with the season before
	checks         int     // of each season, at most
	pace           float64 // Delta E a season, about, by which the line moves
}

func (c restless) draw(rnd *rand.Rand) (out []Grown) {
	t := distuv.StudentsT{Mu: 0, Sigma: 1 / math.Sqrt2, Nu: 4, Src: rnd} // of variance 1
	hot, odd := rnd.NormFloat64(), rnd.NormFloat64()
	for s := range 8 {
		if s > 0 {
			hot = c.again*hot + math.Sqrt(1-c.again*c.again)*rnd.NormFloat64()
			odd = c.again*odd + math.Sqrt(1-c.again*c.again)*rnd.NormFloat64()
		}
		shift := cie.Lab{L: c.weather * (0.9*hot + 0.44*odd), A: c.weather * (0.6*odd - 0.8*hot), B: c.weather * (0.8*hot + 0.6*odd)}
		wide := math.Exp(0.2 * rnd.NormFloat64())
		put := func(n int, middle cie.Lab, group string, sd float64) {
			for i := range n {
				common := t.Rand()
				out = append(out, Grown{Group: group, Record: selection.Record{Plant: fmt.Sprint(group, s, ".", i), Season: fmt.Sprint(2015 + s),
					Lab: cie.Lab{L: middle.L + shift.L + sd*(0.6*common+0.8*t.Rand()), A: middle.A + shift.A + sd*(0.8*t.Rand()-0.6*common),
						B: middle.B + shift.B + 1.5*sd*t.Rand()}}})
			}
		}
		by := c.pace * float64(s)
		put(10+rnd.IntN(21), cie.Lab{L: buff.Lab.L + 0.9*by, A: buff.Lab.A - 0.7*by, B: buff.Lab.B + 0.9*by}, "", 1.8*wide)
		put(c.checks-rnd.IntN(max(c.checks/2, 1)), cie.Lab{L: 48, A: 45, B: 22}, "Check", 1.2*wide)
	}
	return out
}

// until are the plants up to a season.
func until(plants []Grown, season int) (out []Grown) {
	for _, p := range plants {
		if p.Season <= fmt.Sprint(season) {
			out = append(out, p)
		}
	}
	return out
}

// Of lines that stand for eight seasons at most 6 in 100 are said to move, or are ever called out, in a second simulator too;
// where seasons resemble each other and no check plants stand beside, somewhat more are said to move, as
// nothing tells weather that lasts from movement. HUEWARD_STUDY=2000 draws so many lines, and shows all.
func TestRestlessLines(t *testing.T) {
	runs, _ := strconv.Atoi(os.Getenv("HUEWARD_STUDY"))
	full := os.Getenv("HUEWARD_FULL") == "1"
	if runs == 0 {
		if runs = 40; full {
			runs = 200
		}
	}
	for _, again := range []float64{0, 0.3} {
		for _, checks := range []int{0, 5} {
			for weather := range 4 {
				if runs == 40 && (again == 0 || weather%2 == 0) {
					continue
				}
				t.Run(fmt.Sprintf("seasons alike by %.1f, %d check plants, weather %d", again, checks, weather), func(t *testing.T) {
					t.Parallel()
					share := func(pace float64, seed uint64) (moving, out float64) {
						rnd := rand.New(rand.NewPCG(seed, 77))
						c := restless{weather: float64(weather), again: again, checks: checks, pace: pace}
						for range runs {
							plants, ever := c.draw(rnd), 0.0
							for last := 2018; last < 2023; last++ {
								if last < 2022 && runs < 200 { // called out in any season: in long runs alone
									continue
								}
								r, err := Trend(buff, until(plants, last), &Options{Hold: true})
								if err != nil {
									t.Fatal(err)
								}
								if r.Moving && last == 2022 {
									moving += 1 / float64(runs)
								}
								if r.EWMA != nil && r.EWMA.Out {
									ever = 1 / float64(runs)
								}
							}
							out += ever
						}
						return moving, out
					}
					moving, out := share(0, 2001)
					told, called := share(1, 2002)
					t.Logf("standing: said to move %.3f, called out %.3f; moving by Delta E 1 a season: told %.2f, called out %.2f", moving, out,
						told, called)
					most := 0.06
					if again > 0 && checks == 0 {
						most = 0.12
					}
					if se := math.Sqrt(most * (1 - most) / float64(runs)); moving > most+2.5*se || out > 0.06+2.5*se {
						t.Errorf("standing lines: %.3f said to move, %.3f called out", moving, out)
					}
				})
			}
		}
	}
}
