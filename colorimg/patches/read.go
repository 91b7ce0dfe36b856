package patches

import (
	"fmt"

	"hueward/colorimg/card"
	"hueward/colorimg/photo"
	"hueward/colorimg/shape"
)

// Orient takes the four outer corners of the grid of patches, in order around it from any of them, and returns them
// from the first patch's corner along the first row, as [Set.Read] wants them: the way round in which the colours agree
// best. The score is from 0 to 1; ok is false when none agrees, and q is then returned as it came.
func (s *Set) Orient(im *photo.Linear, q card.Quad) (turned card.Quad, score float64, ok bool) {
	turned, second := q, 0.0
	for _, t := range s.ways(q) {
		switch v := s.score(im, t); {
		case v > score:
			turned, score, second = t, v, score
		default:
			second = max(second, v)
		}
	}
	if score < agrees || score < second+margin {
		return q, score, false
	}
	return turned, score, true
}

// ways are the orders of the corners in which the set may lie: four turns, and seen from behind as well where rows and
// columns may be exchanged or the corners may be given either way round.
func (s *Set) ways(q card.Quad) []card.Quad {
	out := make([]card.Quad, 0, 8)
	for k := range 4 {
		t := card.Quad{q[k], q[(k+1)%4], q[(k+2)%4], q[(k+3)%4]}
		if s.FromIDs || clockwise(t) {
			out = append(out, t)
		}
		if m := (card.Quad{t[0], t[3], t[2], t[1]}); s.FromIDs || clockwise(m) {
			out = append(out, m)
		}
	}
	return out
}

// clockwise reports whether the corners go round as those of a card seen from its face, y down.
func clockwise(q card.Quad) bool { return shape.Turned(q[:]) > 0 }

// Read reads every patch of the set that lies in q: the outer corners of the grid of patches, from the first patch's
// along the first row, as [Set.Find] and [Set.Orient] return them. Samples come in the order of the set's patches.
//
// Colours that do not fit the set are an error, [ErrNoMatch] or [ErrTurned];
// so are patches of fewer than 9 pixels, [ErrSmall].
func (s *Set) Read(im *photo.Linear, q card.Quad) ([]Sample, error) {
	h, ok := fitPlane(s.corners(), q[:])
	if !ok {
		return nil, fmt.Errorf("%w: the four corners do not make a four-sided card; give them in order around it, from the first patch on",
			ErrNoMatch)
	}
	out := make([]Sample, len(s.Patches))
	read := make([][3]float64, len(s.Patches))
	for i, p := range s.Patches {
		// Of the patch nine tenths, of which card.Read takes the inner part.
		r := card.Read(im, h.patch(float64(p.Col), float64(p.Row), 0.9*s.half()), 0)
		if r.Pixels < 9 {
			return nil, fmt.Errorf("%w, or lie outside it (patch %s): go closer, or give the corners again", ErrSmall, p.ID)
		}
		out[i] = Sample{ID: p.ID, RGB: r.RGB, SE: r.SE, Ref: p.Ref, Neutral: p.Neutral, Clipped: r.Clipped, Pixels: r.Pixels}
		read[i] = r.RGB
	}
	score := match(read, s.known())
	if score >= agrees && score > 0.9 {
		return out, nil
	}
	if t, v, ok := s.Orient(im, q); ok && t != q && v > score+margin {
		return nil, fmt.Errorf("%w: give its corners from that of patch %s on, then along its first row", ErrTurned, s.Patches[0].ID)
	}
	if score < agrees {
		return nil, fmt.Errorf("%w: check that the corners are those of the outermost patches, and that the file is the one for this chart",
			ErrNoMatch)
	}
	return out, nil
}
