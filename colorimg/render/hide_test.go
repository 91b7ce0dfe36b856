package render

import (
	"bytes"
	"testing"
)

// Leaving out what is covered must not change a pixel: against the slow way,
// which paints all of it.
func TestHidingChangesNothing(t *testing.T) {
	for i := range 12 {
		s := Varied(i, 5)
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
			t.Errorf("Varied(%d): leaving out what is hidden changes the picture (%v)", i, s.Form)
		}
		if fast.hidden.r <= 0 && s.Form != Spider {
			t.Errorf("Varied(%d): nothing found hidden under a %v bloom", i, s.Form)
		}
	}
}
