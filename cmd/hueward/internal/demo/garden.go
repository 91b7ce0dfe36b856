package demo

import (
	"fmt"
	"math/rand/v2"
	"time"

	"hueward/colorimg/cie"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/selection/book"
)

// The lines of the garden, and what they are bred for.
const (
	apricot = "buff apricot"
	cosmos  = "old cosmos"
)

var targets = map[string]book.Target{
	apricot: {Aim: book.Move, Lab: cie.Lab{L: 73, A: 13, B: 32}, Within: 3, Source: "--lab"},
	cosmos:  {Aim: book.Hold, Lab: cie.Lab{L: 72, A: 24, B: -7}, Within: 3, Source: "--lab"},
}

// The colours of the two founder varieties of the marigolds.
var orange, cream = cie.Lab{L: 68, A: 30, B: 66}, cie.Lab{L: 88, A: 2, B: 24}

// loci is how many genes lead from orange to cream, each a step of the same size.
const loci = 6

// genes are what a marigold passes on: at each of the loci two copies, of orange or
// cream, and many small genes of lightness, a* and b*.
type genes struct {
	cream [loci][2]bool
	rest  [3]float64
}

// founder is a plant of a variety: orange or cream at every gene.
func founder(r *rand.Rand, isCream bool) genes {
	var g genes
	for i := range g.cream {
		g.cream[i] = [2]bool{isCream, isCream}
	}
	for i, sd := range restSD {
		g.rest[i] = sd * normal(r)
	}
	return g
}

// restSD is the standard deviation of the small genes among founders, and noise that of what the place in the bed does.
var restSD, noise = [3]float64{2.2, 2.6, 5}, [3]float64{0.8, 1, 1.4}

// offspring is one seedling of two plants.
func offspring(r *rand.Rand, seed, pollen genes) genes {
	var g genes
	for i := range g.cream {
		g.cream[i] = [2]bool{seed.cream[i][r.IntN(2)], pollen.cream[i][r.IntN(2)]}
	}
	for i, sd := range restSD {
		g.rest[i] = (seed.rest[i]+pollen.rest[i])/2 + sd*0.7*normal(r)
	}
	return g
}

// colour is what a plant of these genes flowers in.
func (g genes) colour(r *rand.Rand) cie.Lab {
	n := 0
	for _, c := range g.cream {
		for _, isCream := range c {
			if isCream {
				n++
			}
		}
	}
	t := float64(n) / (2 * loci)
	return cie.Lab{
		L: orange.L + t*(cream.L-orange.L) + g.rest[0] + noise[0]*normal(r),
		A: orange.A + t*(cream.A-orange.A) + g.rest[1] + noise[1]*normal(r),
		B: orange.B + t*(cream.B-orange.B) + g.rest[2] + noise[2]*normal(r),
	}
}

// normal is a standard normal number, at most 2 from 0.
func normal(r *rand.Rand) float64 { return min(max(r.NormFloat64(), -2), 2) }

// plant is a plant of which all is known.
type plant struct {
	id    string
	genes genes // of a marigold
	petal cie.Lab
	look  render.Scene
}

// marigold is a plant of these genes.
func marigold(r *rand.Rand, id string, g genes) plant {
	p := plant{id: id, genes: g, petal: g.colour(r)}
	p.look = render.Scene{Petal: p.petal, Form: render.SemiDouble, Petals: 15 + r.IntN(6)}
	if r.IntN(3) == 0 {
		p.look.Center = cie.Lab{L: 36, A: 14, B: 22} // a dark eye is common in pot marigolds
	}
	return p
}

// cosmosPlant is a plant of the line that is held true, or its off-type.
func cosmosPlant(r *rand.Rand, id string, offType bool) plant {
	p := plant{id: id, petal: cie.Lab{L: 72 + 0.8*normal(r), A: 24 + 0.9*normal(r), B: -7 + 0.7*normal(r)}}
	if offType {
		p.petal = cie.Lab{L: 82, A: 13, B: -4}
	}
	p.look = render.Scene{Petal: p.petal, Form: render.Single, Petals: 8}
	return p
}

// shot is one photo to be drawn.
type shot struct {
	season, name string // the folder and the file
	plant        string
	scene        render.Scene
	info         photo.Info
}

// takePhotos sets up n photos of one plant, on different mornings from a day on, in
// open shade or under a cloud, with the card laid beside the bloom.
func takePhotos(r *rand.Rand, season string, p plant, from time.Time, n int) []shot {
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	var shots []shot
	for i := range n {
		s := p.look
		s.Width, s.Height, s.Seed = 1000, 750, r.Int64()
		s.Ground = []render.Ground{render.Board, render.DarkBoard, render.Wood, render.Soil, render.Leaves}[r.IntN(5)]
		s.Kelvin = 1e6 / between(1e6/9000, 1e6/4000) // even steps of reciprocal colour temperature look even
		s.EV = between(-1.3, -0.6)
		s.Diameter = between(0.45, 0.62)
		s.At = [2]float64{between(0.55, 0.62), between(0.42, 0.58)}
		if r.IntN(2) == 0 {
			s.At[0] = 1 - s.At[0]
		}
		s.Gradient, s.Vignette = between(0, 0.03), between(0, 0.03)
		s.Card = render.CardSpec{Width: between(0.11, 0.15), Angle: between(-25, 25), Border: render.Border(r.IntN(3))}
		day := from.AddDate(0, 0, 3*i+r.IntN(3))
		taken := time.Date(day.Year(), day.Month(), day.Day(), 8+r.IntN(3), r.IntN(60), r.IntN(60), 0, time.UTC)
		shots = append(shots, shot{
			season: season, plant: p.id, name: fmt.Sprintf("%s_%d.jpg", p.id, i+1), scene: s,
			// The position is made up too; it must not reach the report.
			info: photo.Info{Taken: taken, Make: "Garden", Model: "Pocket 1", GPS: true},
		})
	}
	return shots
}

// spoil gives a few of the newest season's marigolds the photos that every season has.
func spoil(shots []*shot) {
	n := len(shots)
	shots[n/3].scene.Card = render.CardSpec{None: true} // the card was forgotten
	if n < 24 {
		return
	}
	dark := &shots[n*14/24].scene
	dark.EV, dark.Blur, dark.Ground = -3.2, 3, render.Soil // at dusk, by a shaking hand
	shots[n*20/24].scene.Shadow = 0.35                     // its card in the shade of a leaf
}
