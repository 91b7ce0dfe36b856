package colorimg_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"hueward/colorimg"
	"hueward/colorimg/must"
	"hueward/colorimg/photo"
	"hueward/colorimg/render"
)

// A photo that is corrected touch by touch reads as one that is measured anew each time:
// the whole reading, outline and all, in whatever order the touches come.
func TestWorking(t *testing.T) {
	t.Parallel()
	im, _ := render.Draw(small(7))
	file := write(t, "working.jpg", jpegOf(t, im, photo.Info{}))
	plain := must.Have(colorimg.Measure(t.Context(), file, nil))(t)
	at, r := *plain.Petal.Bloom, plain.Petal.DiameterPixels/2
	w := colorimg.NewWorking(file, nil)
	for i, c := range []*colorimg.Correction{
		nil, {Bloom: &colorimg.Point{at[0] - r/2, at[1]}},
		{Strokes: []colorimg.Stroke{{In: false, Radius: r / 4, Points: []colorimg.Point{{at[0] + r/2, at[1] - r}, {at[0] + r/2, at[1] + r}}}}},
		{Card: plain.Card.Corners, Bloom: &at}, {Card: plain.Card.Corners}, nil, {Bloom: &colorimg.Point{1, 1}}, nil,
	} {
		want, wantErr := colorimg.Measure(t.Context(), file, c.Options(nil))
		got, err := w.Measure(t.Context(), c)
		if (err == nil) != (wantErr == nil) {
			t.Fatalf("correction %d: %v, want %v", i, err, wantErr)
		}
		if d := cmp.Diff(want, got); d != "" {
			t.Errorf("correction %d (-measured anew +touched):\n%s", i, d)
		}
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	if _, err := w.Measure(ctx, nil); err == nil {
		t.Error("measured for nobody")
	}
}

// BenchmarkWorkingOver measures one touch on a photo of 12 megapixels, and anew, in one run:
// the ratio is what keeping it open saves.
func BenchmarkWorkingOver(b *testing.B) {
	s := usual(7)
	s.Width, s.Height = 4000, 3000
	im, _ := render.Draw(s)
	file := write(b, "large.jpg", jpegOf(b, im, photo.Info{}))
	plain := must.Have(colorimg.Measure(b.Context(), file, nil))(b)
	c := &colorimg.Correction{Bloom: plain.Petal.Bloom}
	b.Run("touched", func(b *testing.B) {
		w := colorimg.NewWorking(file, nil)
		must.Have(w.Measure(b.Context(), nil))(b)
		for b.Loop() {
			must.Have(w.Measure(b.Context(), c))(b)
		}
	})
	b.Run("anew", func(b *testing.B) {
		for b.Loop() {
			must.Have(colorimg.Measure(b.Context(), file, c.Options(nil)))(b)
		}
	})
}
