package render

import "image"

// DrawSlow draws the scene, what is covered too. hid reports whether anything
// would have been left out.
func DrawSlow(s Scene) (im *image.NRGBA, truth Truth, hid bool) {
	p := compose(s.with())
	for _, q := range append(p.below, p.above...) {
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
	im, truth = p.draw(s.with())
	return im, truth, p.hidden.r > 0
}
