package render

import (
	"bytes"
	"testing"
)

// Leaving out what is covered must not change a pixel: against the slow way,
// which paints all of it.
func TestHidingChangesNothing(t *testing.T) {
	for i := range 20 {
		s := Varied(i, 5)
		if i >= 12 { // with insects, dew, hands and withered petals
			s = Awkward(i, 5)
		}
		s.Width, s.Height = 300+10*i, 240+8*i
		fast := compose(s.with())
		slow := compose(s.with())
		for _, q := range append(slow.below, slow.above...) {
			switch q := q.(type) {
			case *ground:
				q.hidden = hole{}
			case *blade:
				q.hidden = hole{}
			case *head:
				for _, b := range q.blades {
					b.hidden = hole{}
				}
			}
		}
		a, ta := fast.draw(s.with())
		b, tb := slow.draw(s.with())
		if !bytes.Equal(a.Pix, b.Pix) || !bytes.Equal(ta.Mask.Pix, tb.Mask.Pix) {
			t.Errorf("scene %d: leaving out what is hidden changes the picture (%v)", i, s.Form)
		}
		if ta.Petal != tb.Petal || ta.Seen != tb.Seen || ta.Browned != tb.Browned || ta.Faded != tb.Faded {
			t.Errorf("scene %d: leaving out what is hidden changes the truth (%v)", i, s.Form)
		}
		if fast.hidden.r <= 0 && s.Form != Spider && s.Form != Cactus {
			t.Errorf("scene %d: nothing found hidden under a %v bloom", i, s.Form)
		}
	}
}
