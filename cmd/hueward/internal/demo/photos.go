package demo

import (
	"fmt"
	"math/rand/v2"
	"time"

	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

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
