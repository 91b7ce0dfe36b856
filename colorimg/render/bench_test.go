package render_test

import (
	"io"
	"testing"

	"hueward/colorimg/must"
	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

func BenchmarkDraw(b *testing.B) {
	for _, bb := range []struct {
		name string
		s    render.Scene
	}{
		{"board/1000x750", render.Scene{Width: 1000, Height: 750, Form: render.SemiDouble}},
		{"board/1600x1200", render.Scene{Form: render.SemiDouble}},
		{"leaves/1600x1200", render.Scene{Form: render.Double, Ground: render.Leaves}},
		{"hard/1600x1200", scenes.Hard(1, 1)},
		{"awkward/1600x1200", scenes.Awkward(7, 1)},
	} {
		b.Run(bb.name, func(b *testing.B) {
			for range b.N {
				render.Draw(bb.s)
			}
		})
	}
}

func BenchmarkJPEG(b *testing.B) {
	s := render.Scene{Width: 1000, Height: 750, Form: render.SemiDouble, Ground: render.Soil}
	for range b.N {
		must.Have(s.JPEG(io.Discard, 92))(b)
	}
}
