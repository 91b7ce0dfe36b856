package render_test

import (
	"bytes"
	"testing"

	"hueward/colorimg/render"
	"hueward/colorimg/render/scenes"
)

// Leaving out what is covered must not change a pixel: against the slow way,
// which paints all of it.
func TestHidingChangesNothing(t *testing.T) {
	t.Parallel()
	for k := range scenes.Count(8, 20) {
		i := k * 20 / scenes.Count(8, 20)
		s := scenes.Varied(i, 5)
		if i >= 12 { // with insects, dew, hands and withered petals
			s = scenes.Awkward(i, 5)
		}
		s.Width, s.Height = 300+10*i, 240+8*i
		a, ta := render.Draw(s)
		b, tb, hid := render.DrawSlow(s)
		if !bytes.Equal(a.Pix, b.Pix) || !bytes.Equal(ta.Mask.Pix, tb.Mask.Pix) {
			t.Errorf("scene %d: leaving out what is hidden changes the picture (%v)", i, s.Form)
		}
		if ta.Petal != tb.Petal || ta.Seen != tb.Seen || ta.Browned != tb.Browned || ta.Faded != tb.Faded {
			t.Errorf("scene %d: leaving out what is hidden changes the truth (%v)", i, s.Form)
		}
		if !hid && s.Form != render.Spider && s.Form != render.Cactus {
			t.Errorf("scene %d: nothing found hidden under a %v bloom", i, s.Form)
		}
	}
}
