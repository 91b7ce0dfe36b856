package tag

import (
	"testing"

	"hueward/colorimg/must"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// In pictures of blooms without a tag none is seen, not an unreadable one either.
func TestNoTag(t *testing.T) {
	t.Parallel()
	for i := range scenes.Count(4, 24) {
		s := []func(int, int64) render.Scene{scenes.Varied, scenes.Hard, scenes.Awkward}[i%3](i, 77)
		s.Tag = nil
		s.Width, s.Height = 1000, 750
		p, _ := scenes.Shoot(t, s)
		if tags := Read(p); tags != nil {
			t.Errorf("scene %d: read %+v, want nothing", i, tags)
		}
	}
}

// A tag drawn into a photo by package render, which knows nothing of this one.
func TestReadRendered(t *testing.T) {
	modules := must.Have(Matrix(short))(t)
	t.Parallel()
	n := scenes.Count(3, 12)
	seen := 0
	for i := range n {
		s := render.Scene{Width: 1600, Height: 1200, Form: render.Forms[i%len(render.Forms)],
			Ground:   render.Grounds[i%len(render.Grounds)],
			Diameter: 0.4, EV: -0.3, Seed: int64(i),
			Tag: &render.TagSpec{Modules: modules, Width: 0.09, Angle: 37 * float64(i), Tilt: 30}}
		p, truth := scenes.Shoot(t, s)
		if truth.Tag == ([4][2]float64{}) {
			continue // no room for it
		}
		seen++
		tags := Read(p)
		if len(tags) != 1 || tags[0].Text != short {
			t.Errorf("scene %d: read %+v, want %q", i, tags, short)
			continue
		}
		if d := tags[0].furthest(truth.Tag); d > 0.3 {
			t.Errorf("scene %d: a corner is %.3f modules off, want at most 0.3", i, d)
		}
	}
	if seen < n/2 {
		t.Fatalf("only %d of %d scenes had room for a tag", seen, n)
	}
}
