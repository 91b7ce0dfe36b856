package patches

import (
	"context"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"hueward/colorimg/card"
	"hueward/colorimg/cie"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// garden is the set of testdata.
func garden(t testing.TB) *Set {
	t.Helper()
	return must.Have(Open(filepath.Join("testdata", "garden24.txt")))(t)
}

// shoot draws a photo of the set alone, without a bloom, and tells where the set lies: in the middle of 800 × 600 pixels where
// the scene says no other place.
func shoot(t testing.TB, s *Set, o render.Scene) (*photo.Linear, card.Quad) {
	t.Helper()
	o.Width, o.Height, o.NoBloom = 800, 600, true
	chart := &render.ChartSpec{Rows: s.Rows, Cols: s.Cols, Gap: s.Gap, Patches: make([]cie.Lab, len(s.Patches))}
	for _, p := range s.Patches {
		chart.Patches[p.Row*s.Cols+p.Col] = p.Ref.Lab()
	}
	o.Card.Chart = chart
	if o.Card.At == nil {
		o.Card.At = &[2]float64{0.5, 0.5}
	}
	im, truth := render.Draw(o)
	f := must.Have(os.Create(filepath.Join(t.TempDir(), "x.png")))(t)
	must.OK(t, (&png.Encoder{CompressionLevel: png.NoCompression}).Encode(f, im))
	must.OK(t, f.Close())
	return must.Have(photo.Open(context.Background(), f.Name(), nil))(t).Image, truth.Chart
}

// off is the largest distance between the corners, in their order.
func off(a, b card.Quad) float64 {
	worst := 0.0
	for i := range a {
		worst = max(worst, math.Hypot(a[i][0]-b[i][0], a[i][1]-b[i][1]))
	}
	return worst
}
