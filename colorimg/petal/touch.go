package petal

import "math"

// Stroke is one stroke of a brush with which the user corrects the outline.
type Stroke struct {
	In     bool         // it marks petals; else what is not the bloom
	Points [][2]float64 // working pixels; a single point is a dab
	Radius float64      // of the brush, working pixels
}

// touchUp paints the strokes into Head and Mask, the last one on top.
func (b *Bloom) touchUp(strokes []Stroke, skip func(x, y int) bool) {
	W, H := b.scene.im.W, b.scene.im.H
	for _, s := range strokes {
		for k := range s.Points {
			p, q := s.Points[max(0, k-1)], s.Points[k]
			x0, x1 := clamp(min(p[0], q[0])-s.Radius, W), clamp(max(p[0], q[0])+s.Radius+1, W)
			y0, y1 := clamp(min(p[1], q[1])-s.Radius, H), clamp(max(p[1], q[1])+s.Radius+1, H)
			for y := y0; y < y1; y++ {
				for x := x0; x < x1; x++ {
					if !(fromLine(float64(x), float64(y), p, q) <= s.Radius) || skip != nil && skip(x, y) {
						continue
					}
					i := y*W + x
					if b.Mask[i], b.Head[i] = 0, 0; s.In {
						b.Mask[i], b.Head[i] = 255, 255
					}
				}
			}
			if s.In {
				b.box = [4]int{min(b.box[0], x0), min(b.box[1], y0), max(b.box[2], x1), max(b.box[3], y1)}
			}
		}
	}
	b.Pixels = 0
	for y := b.box[1]; y < b.box[3]; y++ {
		for _, on := range b.Mask[y*W+b.box[0] : y*W+b.box[2]] {
			if on != 0 {
				b.Pixels++
			}
		}
	}
}

func clamp(v float64, most int) int { return int(min(max(v, 0), float64(most))) }

// fromLine returns the distance of a pixel from the line segment between p and q.
func fromLine(x, y float64, p, q [2]float64) float64 {
	dx, dy := q[0]-p[0], q[1]-p[1]
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = min(max(((x-p[0])*dx+(y-p[1])*dy)/l, 0), 1)
	}
	return math.Hypot(x-p[0]-t*dx, y-p[1]-t*dy)
}
