package tag

import "math"

// CrossMM is the width of the lines of the cross that is printed in the card's
// box; its four arms end at the corners. A card hides it.
const CrossMM = 1.2

// CardMissing reports whether the cross in the card's box shows, so that no card lies there: along three of its four
// arms, both sides are brighter than the line in most places. White paper must not be taken for the card.
func (l Located) CardMissing(luma Luma) bool {
	c := l.Sheet.Card
	mx, my := c.X+c.W/2, c.Y+c.H/2
	seen := 0
	for _, end := range c.Corners() {
		length := math.Hypot(end[0]-mx, end[1]-my)
		dx, dy := (end[0]-mx)/length, (end[1]-my)/length
		at := func(along, across float64) float64 {
			p := l.Point(mx+along*dx-across*dy, my+along*dy+across*dx)
			return luma(p[0], p[1])
		}
		lines, places := 0, 0
		for a := 0.35 * length; a < 0.95*length; a += 0.5 {
			line := (at(a, -0.2) + at(a, 0) + at(a, 0.2)) / 3
			beside := min(at(a, -2.5*CrossMM), at(a, 2.5*CrossMM))
			if line < 0.92*beside {
				lines++
			}
			places++
		}
		if 10*lines > 7*places {
			seen++
		}
	}
	return seen >= 3
}
