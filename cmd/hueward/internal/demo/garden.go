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

// The demo's garden is made up: an F2 of pot marigolds from a cross of an
// orange with a cream one, on the way to a buff apricot; and a cosmos that is
// held true, with an off-type among its plants.

const demoSeason = "2026"

// bed is one line of the garden.
type bed struct {
	line   string
	target book.Target
	plants []madeUpPlant
}

// madeUpPlant is a plant of which the true colour is known.
type madeUpPlant struct {
	id    string
	petal cie.Lab
	shots []shot
}

// shot is one photo to be drawn.
type shot struct {
	name  string // of the file
	scene render.Scene
	info  photo.Info
}

// inventGarden makes up a garden with n marigolds; it depends on n and seed
// alone.
func inventGarden(seed uint64, n int) []bed {
	r := rand.New(rand.NewPCG(seed, 20260701))
	normal := func(mean, sd float64) float64 { return mean + sd*min(max(r.NormFloat64(), -2), 2) }
	marigolds := bed{line: "buff apricot", target: book.Target{
		Aim: book.Move, Lab: cie.Lab{L: 76, A: 14, B: 38}, Within: 4, Source: "--lab"}}
	orange, cream := cie.Lab{L: 68, A: 30, B: 66}, cie.Lab{L: 88, A: 2, B: 24}
	for i := range n {
		// Many genes of small effect: most plants lie between the parents.
		t := min(max(normal(0.5, 0.34), 0), 1)
		p := madeUpPlant{id: fmt.Sprintf("M-%02d", i+1), petal: cie.Lab{
			L: orange.L + t*(cream.L-orange.L) + normal(0, 2),
			A: orange.A + t*(cream.A-orange.A) + normal(0, 2.5),
			B: orange.B + t*(cream.B-orange.B) + normal(0, 4),
		}}
		look := render.Scene{Petal: p.petal, Form: render.SemiDouble, Petals: 15 + r.IntN(6)}
		if r.IntN(3) == 0 {
			look.Center = cie.Lab{L: 36, A: 14, B: 22} // a dark eye is common in pot marigolds
		}
		p.shots = takePhotos(r, p.id, look, 2+r.IntN(2))
		marigolds.plants = append(marigolds.plants, p)
	}
	cosmos := bed{line: "old cosmos", target: book.Target{
		Aim: book.Hold, Lab: cie.Lab{L: 72, A: 24, B: -7}, Within: 3, Source: "--lab"}}
	few := min(6, max(2, n/4))
	for i := range few {
		p := madeUpPlant{id: fmt.Sprintf("C-%02d", i+1), petal: cie.Lab{
			L: normal(72, 0.8), A: normal(24, 0.9), B: normal(-7, 0.7)}}
		if i == few-2 {
			p.petal = cie.Lab{L: 82, A: 13, B: -4} // the off-type
		}
		p.shots = takePhotos(r, p.id, render.Scene{Petal: p.petal, Form: render.Single, Petals: 8}, 2)
		cosmos.plants = append(cosmos.plants, p)
	}
	spoil(marigolds.plants)
	return []bed{marigolds, cosmos}
}

// takePhotos sets up n photos of one plant, on different mornings of July, in
// open shade or under a cloud, with the card laid beside the bloom.
func takePhotos(r *rand.Rand, id string, look render.Scene, n int) []shot {
	between := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	var shots []shot
	for i := range n {
		s := look
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
		taken := time.Date(2026, time.July, 3+5*i+r.IntN(5), 8+r.IntN(3), r.IntN(60), r.IntN(60), 0, time.UTC)
		shots = append(shots, shot{
			name: fmt.Sprintf("%s_%d.jpg", id, i+1), scene: s,
			// The position is made up too; it must not reach the report.
			info: photo.Info{Taken: taken, Make: "Garden", Model: "Pocket 1", GPS: true},
		})
	}
	return shots
}

// spoil gives a few plants the photos that every season has.
func spoil(ps []madeUpPlant) {
	last := func(i int) *render.Scene { return &ps[i].shots[len(ps[i].shots)-1].scene }
	n := len(ps)
	last(n / 3).Card = render.CardSpec{None: true} // the card was forgotten
	dark := last(n * 14 / 24)
	dark.EV, dark.Blur, dark.Ground = -3.2, 3, render.Soil // at dusk, by a shaking hand
	last(n * 20 / 24).Shadow = 0.35                        // its card in the shade of a leaf
}
