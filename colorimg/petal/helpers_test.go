package petal_test

import (
	"image"
	"math"
	"testing"

	"hueward/colorimg/petal"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// shot is a drawn photo, opened, and what it shows.
type shot struct {
	im    *photo.Linear
	truth render.Truth
	gains [3]float64 // that undo the light and the exposure
}

// shoot draws the scene and opens it as a phone's JPEG would be. 640 × 480
// pixels are worked on as they are.
func shoot(t testing.TB, s render.Scene) shot {
	t.Helper()
	if s.Width == 0 {
		s.Width, s.Height = 640, 480
	}
	p, truth := scenes.Shoot(t, s)
	sh := shot{im: p.Image, truth: truth}
	for c := range sh.gains {
		sh.gains[c] = 1 / truth.Gains[c] / math.Exp2(s.EV)
	}
	return sh
}

// find looks for the bloom by the true light, the card left out.
func (s shot) find(at *[2]float64) (*petal.Bloom, error) {
	return petal.Find(s.im, s.gains, &petal.Options{Bloom: at, Skip: s.onCard})
}

func (s shot) onCard(x, y int) bool {
	e := s.truth.Edge
	if e == ([4][2]float64{}) {
		return false
	}
	for i, a := range e { // clockwise
		b := e[(i+1)%4]
		if (b[0]-a[0])*(float64(y)-a[1])-(b[1]-a[1])*(float64(x)-a[0]) < -2*math.Hypot(b[0]-a[0], b[1]-a[1]) {
			return false
		}
	}
	return true
}

// iou is the overlap of the mask and the true one over their union.
func iou(mask []uint8, truth *image.Gray) float64 {
	both, either := 0.0, 0.0
	for i, v := range truth.Pix {
		a, b := v > 127, mask[i] > 127
		if a && b {
			both++
		}
		if a || b {
			either++
		}
	}
	return both / either
}

// changed marks the pixels that differ by more than a few steps between two
// drawn scenes of one size, without noise.
func changed(a, b render.Scene) []bool {
	a.Noise, b.Noise = -1, -1
	if a.Width == 0 {
		a.Width, a.Height, b.Width, b.Height = 640, 480, 640, 480
	}
	p, _ := render.Draw(a)
	q, _ := render.Draw(b)
	out := make([]bool, len(p.Pix)/4)
	for i := range p.Pix {
		if d := int(p.Pix[i]) - int(q.Pix[i]); d > 12 || d < -12 {
			out[i/4] = true
		}
	}
	return out
}
